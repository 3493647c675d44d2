// Licences of what others wrote and what goes into the bundle, the module, the image or the released package.
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = fileURLToPath(new URL('..', import.meta.url));
const LICENCE = /^(licen[cs]e|notice|copying)/i;
/** Where a package has its licence in its description instead. */
const IN_README = /^#+ *licen[cs]e\s*$/im;
/** Packages that come without a text of their own, and a package of the same makers under the same licence that has it. */
const TEXT_IN = { '@assemblyscript/loader': 'node_modules/assemblyscript', 'yoga-layout': 'node_modules/react' };

/** The package that a file of node_modules belongs to: its folder from the root, or null. */
export function packageOf(path) {
  return /^.*node_modules\/(?:@[^/]+\/)?[^/]+(?=\/)/.exec(path)?.[0] ?? null;
}

/** Licence files of a folder; `hidapi` is a library of C inside node-hid. */
function textsIn(folder) {
  return readdirSync(folder, { withFileTypes: true }).flatMap((entry) => {
    if (entry.isDirectory()) return entry.name === 'hidapi' ? textsIn(join(folder, entry.name)) : [];
    return LICENCE.test(entry.name) ? [readFileSync(join(folder, entry.name), 'utf8').trim()] : [];
  });
}

/** The part of a description that is the licence. */
function licenceInReadme(folder) {
  const readme = readdirSync(folder).find((name) => /^readme/i.test(name));
  const text = readme === undefined ? '' : readFileSync(join(folder, readme), 'utf8');
  const at = text.search(IN_README);
  return at < 0 ? [] : [text.slice(at).split('\n').slice(1).join('\n').trim()];
}

/** A part of the file of notices. @throws Error when there is no text */
function section(title, texts) {
  if (texts.length === 0) throw new Error(`no licence text is known for ${title}`);
  return [`== ${title}`, ...texts].join('\n\n');
}

/**
 * @param folder - of a package, from the root
 * @throws Error when it comes without a licence and none is named above
 */
export function packageNotice(folder) {
  const { name, version, license } = JSON.parse(readFileSync(join(ROOT, folder, 'package.json'), 'utf8'));
  const found = textsIn(join(ROOT, folder));
  const own = found.length > 0 ? found : licenceInReadme(join(ROOT, folder));
  const texts = own.length > 0 || TEXT_IN[name] === undefined ? own : textsIn(join(ROOT, TEXT_IN[name]));
  return section(`${name} ${version} (${license})`, texts);
}

/** What the compilers add to the firmware: the library of C, and what wasm2c writes. */
export function firmwareNotices() {
  const newlib = '/usr/share/doc/libnewlib-arm-none-eabi/copyright';
  return [
    section('newlib, the firmware\'s library of C', existsSync(newlib) ? [readFileSync(newlib, 'utf8').trim()] : []),
    section('libgcc, the firmware\'s arithmetic', [
      'GNU General Public License, version 3 or later, with the GCC Runtime Library Exception, version 3.1,\n' +
      'which lets a program that GCC compiled be passed on under terms of its maker\'s choice.',
    ]),
    packageNotice('node_modules/wabt'),
  ];
}

/** The whole file. @param sections - in any order, doubles allowed */
export function noticesFile(sections) {
  const head = 'Tapstone itself is under the licences in LICENSE. This is what others wrote and what is part of it, each with its licence.';
  return `${[head, ...[...new Set(sections)].sort()].join('\n\n\n')}\n`;
}

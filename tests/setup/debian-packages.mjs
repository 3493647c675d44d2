// What the tests need of the system, and how it gets there: installed when run as root on Debian, named in one line otherwise.
import { execFileSync, spawnSync } from 'node:child_process';
import { accessSync, constants, existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';

/** Package and a file that shows it is there. */
const packages = [
  ['ngspice', '/usr/bin/ngspice'],
  ['python3-numpy', '/usr/lib/python3/dist-packages/numpy/__init__.py'],
  ['python3-scipy', '/usr/lib/python3/dist-packages/scipy/__init__.py'],
  ['gcc', '/usr/bin/gcc'],
  ['libc6-dev', '/usr/include/stdio.h'],
  ['gcc-arm-none-eabi', '/usr/bin/arm-none-eabi-gcc'],
  ['libnewlib-arm-none-eabi', '/usr/include/newlib/stdio.h'],
  ['cppcheck', '/usr/bin/cppcheck'],
  ['clang-tidy', '/usr/bin/clang-tidy'],
  ['python3-unicorn', '/usr/lib/python3/dist-packages/unicorn/__init__.py'],
  ['file', '/usr/bin/file'],
  ['tmux', '/usr/bin/tmux'],
  ['postgresql', '/usr/share/doc/postgresql/copyright'],
  ['qemu-system-x86', '/usr/bin/qemu-system-x86_64'],
  ['cpio', '/usr/bin/cpio'],
  ['xz-utils', '/usr/bin/xz'],
  ['poppler-utils', '/usr/bin/pdftotext'],
  ['zbar-tools', '/usr/bin/zbarimg'],
  ['cmark-gfm', '/usr/bin/cmark-gfm'],
  ['libudev1', '/usr/share/doc/libudev1/copyright'],
  ['libusb-1.0-0', '/usr/share/doc/libusb-1.0-0/copyright'],
];

/**
 * KiCad 9 judges the board. That of Debian 12 is 6, which cannot: there it comes from backports, whose source is made of the
 * machine's own for the time of the install; later releases have it. About 71 MB to fetch, 850 MB on disk, two minutes.
 */
const kicadPackages = ['kicad', 'kicad-symbols', 'kicad-footprints'];
const KICAD_SHOWS = '/usr/bin/kicad-cli';
const NEEDS_BACKPORTS = 'bookworm';
const OWN_SOURCE = '/etc/apt/sources.list.d/debian.sources';
const BACKPORTS_SOURCE = '/etc/apt/sources.list.d/tapstone-backports.sources';

/** Names of the packages that are not there. */
export function missingPackages() {
  const missing = packages.filter(([, file]) => !existsSync(file)).map(([name]) => name);
  return existsSync(KICAD_SHOWS) ? missing : [...missing, 'kicad'];
}

/** Names the release of this Debian, such as `bookworm`. */
function releaseName() {
  return /^VERSION_CODENAME=(.*)$/m.exec(existsSync('/etc/os-release') ? readFileSync('/etc/os-release', 'utf8') : '')?.[1];
}

/** Installs KiCad 9; leaves the machine's sources as they were. What fails here is told, and the board is not judged. */
function installKicad(env, wait) {
  const apt = (...args) => {
    const { status } = spawnSync('apt-get', [...args, '-qq', ...wait], { env, stdio: ['ignore', 'ignore', 'inherit'] });
    if (status !== 0) process.stderr.write(`apt-get ${args[0]} failed; without KiCad the board is not judged\n`);
    return status === 0;
  };
  const install = ['install', '-y', '--no-install-recommends'];
  if (releaseName() !== NEEDS_BACKPORTS) {
    if (apt('update')) apt(...install, ...kicadPackages);
    return;
  }
  const own = existsSync(OWN_SOURCE) ? readFileSync(OWN_SOURCE, 'utf8') : '';
  const line = (name) => new RegExp(`^${name}: *.+$`, 'm').exec(own)?.[0];
  const from = line('URIs');
  if (from === undefined) {
    process.stderr.write(`KiCad 9 needs ${OWN_SOURCE} to derive its own source from; without KiCad the board is not judged\n`);
    return;
  }
  const source = ['Types: deb', from, `Suites: ${NEEDS_BACKPORTS}-backports`, 'Components: main', line('Signed-By')];
  writeFileSync(BACKPORTS_SOURCE, `${source.filter(Boolean).join('\n')}\n`);
  try {
    if (apt('update')) apt(...install, '-t', `${NEEDS_BACKPORTS}-backports`, ...kicadPackages);
  } finally {
    rmSync(BACKPORTS_SOURCE, { force: true });
  }
}

/** True when this user may install Debian packages. */
function mayInstall() {
  if (process.getuid?.() !== 0) return false;
  try {
    accessSync('/usr/bin/apt-get', constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

/** Installs what is missing, or says in one line what to install. @returns names still missing */
export function ensurePackages() {
  const missing = missingPackages();
  if (missing.length === 0) return [];
  if (!mayInstall()) {
    process.stderr.write(`The tests need these Debian packages: apt-get install ${missing.join(' ')}\n`);
    return missing;
  }
  process.stderr.write(`installing ${missing.join(' ')}\n`);
  const env = { ...process.env, DEBIAN_FRONTEND: 'noninteractive' };
  const wait = ['-o', 'DPkg::Lock::Timeout=300'];
  const usual = missing.filter((name) => name !== 'kicad');
  let done = { status: 0 };
  if (usual.length > 0) {
    execFileSync('apt-get', ['update', '-qq', ...wait], { env, stdio: ['ignore', 'ignore', 'inherit'] });
    done = spawnSync(
      'apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...wait, ...usual],
      { env, stdio: ['ignore', 'ignore', 'inherit'] });
  }
  if (missing.includes('kicad')) installKicad(env, wait);
  const still = missingPackages();
  if (done.status !== 0 || still.length > 0) {
    process.stderr.write(`apt-get could not install: ${still.join(' ')}\n`);
  }
  return still;
}

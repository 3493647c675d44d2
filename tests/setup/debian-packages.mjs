// What the tests need of the system, and how it gets there: installed when run as root on Debian, named in one line otherwise.
import { execFileSync, spawnSync } from 'node:child_process';
import { accessSync, constants, existsSync } from 'node:fs';

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
  ['libudev1', '/usr/share/doc/libudev1/copyright'],
  ['libusb-1.0-0', '/usr/share/doc/libusb-1.0-0/copyright'],
];

/** Names of the packages that are not there. */
export function missingPackages() {
  return packages.filter(([, file]) => !existsSync(file)).map(([name]) => name);
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
  execFileSync('apt-get', ['update', '-qq', ...wait], { env, stdio: ['ignore', 'ignore', 'inherit'] });
  const done = spawnSync(
    'apt-get', ['install', '-y', '-qq', '--no-install-recommends', ...wait, ...missing],
    { env, stdio: ['ignore', 'ignore', 'inherit'] });
  const still = missingPackages();
  if (done.status !== 0 || still.length > 0) {
    process.stderr.write(`apt-get could not install: ${still.join(' ')}\n`);
  }
  return still;
}

// How the firmware is compiled, for the build and for those who check it.

export const CFLAGS = [
  '-mcpu=cortex-m0plus', '-mthumb', '-g0', '-std=c11', '-ffreestanding', '-ffp-contract=off', '-fno-common',
  '-ffunction-sections', '-fdata-sections', '-DNDEBUG',
];
/** Of our own sources; what wasm2c writes is not ours to tidy. */
export const WARNINGS = ['-Wall', '-Wextra', '-Wconversion', '-Wsign-conversion', '-Werror', '-Wno-main', '-Wno-override-init'];

// Packages that the bundle leaves outside: what has native parts, and the emulator, which only `--twin chip` loads.
export const EXTERNAL = ['node-hid', 'rp2040js'];

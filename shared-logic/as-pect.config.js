// as-pect runs the specs of the logic: each spec file is compiled with the code it tests.
export default {
  entries: ['assembly/**/*.spec.ts'],
  include: ['assembly/**/*.include.ts'],
  disclude: [/node_modules/],
  async instantiate(memory, createImports, instantiate, binary) {
    const board = {
      switches() {}, drive() {}, convert() {}, burst() {}, listen() {}, wake() {}, light() {},
      send: () => 1, wand: () => 0,
    };
    return instantiate(binary, createImports({ env: { memory }, board }));
  },
  outputBinary: false,
};

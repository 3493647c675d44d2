// Gives the functions of wasm2c's output the names that they have in the logic, instead of numbers that change with every edit:
// a profile can be read, and a list of functions (in-ram.txt) outlives the next build of the module.

/** @returns the C with names. @param wat - the module as text, from the same run of the compiler */
export function withNames(generated, wat) {
  const paths = [...wat.matchAll(/^ \((?:import "[^"]*" "[^"]*" \()?func \$(\S+?)(?: |\)|$)/gm)].map(([, path]) => path);
  const seen = new Map();
  const names = paths.map((path) => {
    const name = path.replace(/^~lib\//, 'lib/').replace(/^assembly\//, '').replace(/\W/g, '_');
    const again = seen.get(name) ?? 0;
    seen.set(name, again + 1);
    return again === 0 ? name : `${name}_again${again}`;
  });
  return generated.replace(/\bw2c_logic_f(\d+)\b/g, (whole, index) => (names[index] === undefined ? whole : `w2c_logic_at_${names[index]}`));
}

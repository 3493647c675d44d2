/** What a board is made of: bought parts with their pins, placed parts, and the nets that join them. */

/** Electrical type of a pin, by KiCad's names, so that its rule check reads ours. */
export type PinKind =
  | 'input' | 'output' | 'bidirectional' | 'tri_state' | 'passive' | 'power_in' | 'power_out' | 'open_collector' | 'no_connect';

export interface Pin {
  readonly number: string;
  readonly name: string;
  readonly kind: PinKind;
}

/** How a part is drawn in the schematic and modelled in a deck. */
export type Family =
  | 'resistor' | 'capacitor' | 'bead' | 'diodes' | 'led' | 'crystal' | 'fuse' | 'gap' | 'button' | 'test point' | 'hole' | 'connector' | 'chip';

/** A kind of part that is bought; its parameters matter, the maker's name is an example. */
export interface Bought {
  readonly family: Family;
  /** What to ask for: the parameters that matter. */
  readonly description: string;
  readonly example: string;
  readonly alternate: string;
  /** Library and name of the land pattern. */
  readonly footprint: string;
  readonly pins: readonly Pin[];
  /** Where the pin table was compared or looked up. */
  readonly pinSource: string;
  /** KiCad's own symbol with the same pin numbers, when it has one. */
  readonly symbol?: readonly [library: string, name: string];
  /** Degrees that an assembler's "0" is turned from the land pattern's. */
  readonly notBought?: boolean;
}

/** Where a part lies: millimetres from the board's top left corner, y down; degrees counter-clockwise. */
export interface Place {
  readonly x: number;
  readonly y: number;
  readonly turn: number;
}

export const SHEETS = ['clips', 'switches', 'ports', 'listening', 'supplies', 'controller'] as const;
export type Sheet = (typeof SHEETS)[number];

export interface Part {
  readonly ref: string;
  readonly bought: Bought;
  readonly sheet: Sheet;
  /** As printed: `10k`, `100n`, or the example's name. */
  readonly value: string;
  /** Ohms or farads of a resistor or capacitor. */
  readonly size?: number;
  /** Relative tolerance of `size`. */
  readonly tolerance?: number;
  /** Net of each pin by number; a pin without one is left open on purpose. */
  readonly nets: ReadonlyMap<string, string>;
  readonly place: Place;
}

/** A number with its SI letter as the trade prints it: 4700 is `4k7`.
 * @param size - ohms or farads, above 0
 */
export function printed(size: number): string {
  const letters: readonly [number, string][] = [[1e6, 'M'], [1e3, 'k'], [1, 'R'], [1e-3, 'm'], [1e-6, 'u'], [1e-9, 'n'], [1e-12, 'p']];
  if (size === 0) return '0R';
  const [unit, letter] = letters.find(([value]) => size >= value * 0.9999999) ?? [1e-12, 'p'];
  const digits = String(Number((size / unit).toPrecision(4)));
  return digits.includes('.') ? digits.replace('.', letter) : digits + letter;
}

/** Collects the parts of a board and refuses what cannot be. */
export class Netlist {
  readonly parts: Part[] = [];
  readonly #refs = new Set<string>();

  /** Adds a part.
   * @param nets - by pin name (every pin of that name) or, with a `#`, by pin number
   * @param open - names or `#numbers` that stay unconnected on purpose
   * @throws when a pin is named that the part has not, or one is neither connected nor left open
   */
  add(
    ref: string, bought: Bought, sheet: Sheet, nets: Readonly<Record<string, string>>, place: Place,
    more: { readonly open?: readonly string[]; readonly value?: string; readonly size?: number; readonly tolerance?: number } = {},
  ): void {
    if (this.#refs.has(ref)) throw new Error(`${ref} is there twice`);
    this.#refs.add(ref);
    const found = new Map<string, string>();
    for (const [key, net] of Object.entries(nets)) {
      const hit = matching(bought, key);
      if (hit.length === 0) throw new Error(`${ref} has no pin ${key}`);
      for (const pin of hit) found.set(pin.number, net);
    }
    const open = (more.open ?? []).flatMap((key) => {
      const hit = matching(bought, key);
      if (hit.length === 0) throw new Error(`${ref} has no pin ${key} to leave open`);
      return hit.map(({ number }) => number);
    });
    for (const { number, name } of bought.pins) {
      if (found.has(number) === open.includes(number)) throw new Error(`${ref}: pin ${number} ${name} must be connected or left open`);
    }
    const { value = bought.example, size, tolerance } = more;
    this.parts.push({ ref, bought, sheet, value, size, tolerance, nets: found, place });
  }

  /** Every net with the pins on it, `U1.3`, in the order of the parts. */
  nets(): Map<string, string[]> {
    const nets = new Map<string, string[]>();
    for (const { ref, nets: pins } of this.parts) {
      for (const [pin, net] of pins) {
        if (!nets.has(net)) nets.set(net, []);
        nets.get(net)!.push(`${ref}.${pin}`);
      }
    }
    return nets;
  }

  /** @throws when there is no such part */
  part(ref: string): Part {
    const part = this.parts.find((one) => one.ref === ref);
    if (part === undefined) throw new Error(`the board has no ${ref}`);
    return part;
  }
}

function matching(bought: Bought, key: string): Pin[] {
  return bought.pins.filter(({ number, name }) => (key.startsWith('#') ? `#${number}` === key : name === key));
}

/** Pins written in short: `1 A0 input, 2 EN input`. */
export function pins(text: string): Pin[] {
  const short: Readonly<Record<string, PinKind>> = {
    i: 'input', o: 'output', b: 'bidirectional', t: 'tri_state', p: 'passive', w: 'power_in', W: 'power_out', c: 'open_collector', n: 'no_connect',
  };
  return text.split(',').map((one) => {
    const [number, name, kind] = one.trim().split(/\s+/);
    const long = short[kind];
    if (long === undefined) throw new Error(`pin "${one.trim()}" has no kind`);
    return { number, name, kind: long };
  });
}

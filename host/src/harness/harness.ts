/** A harness: slots for pickups, the parts and switches between them and the output (`*.harness.json`, format `harness/1`). */

/** Where a pickup's ends go. */
export interface Slot {
  readonly slot: string;
  readonly hot: string;
  /** What a split or a series switch takes hold of. */
  readonly link?: string;
  readonly ground: string;
  readonly frame: string;
}

/** A pot: `(1 - turn)*ohm` from `a` to `wiper`, `turn*ohm` from `wiper` to `b`; a null end is a node of its own. */
export interface Pot {
  readonly id: string;
  readonly kind: 'pot';
  readonly a: string | null;
  readonly wiper: string;
  readonly b: string | null;
  readonly ohm: number;
  /** 0 to 1, electrically; 1 when left out. */
  readonly turn?: number;
}

export interface Resistor {
  readonly id: string;
  readonly kind: 'resistor';
  readonly a: string;
  readonly b: string;
  readonly ohm: number;
}

export interface Capacitor {
  readonly id: string;
  readonly kind: 'capacitor';
  readonly a: string;
  readonly b: string;
  readonly farad_F: number;
}

export type Part = Pot | Resistor | Capacitor;

/** Nodes that are one. */
export type Join = readonly string[];

export interface SwitchPosition {
  readonly name: string;
  readonly joins?: readonly Join[];
}

export interface Switch {
  readonly id: string;
  readonly positions: readonly SwitchPosition[];
}

/** What is attached to the output, side by side from hot to ground. */
export interface Load {
  readonly ohm?: number;
  readonly farad_F?: number;
}

export const WAY_KINDS = ['series', 'parallel', 'alone'] as const;
export type WayKind = (typeof WAY_KINDS)[number];

/** A way of connecting a pickup to its slot. */
export interface Way {
  readonly kind: WayKind;
  /** Names of coils; in series from ground to hot. */
  readonly coils: readonly string[];
  /** Hot and ground exchanged. */
  readonly turned?: boolean;
}

/** What no wire map tells, for each coil of a pickup. */
export interface Assumed {
  /** Across the whole coil; 100 pF when left out. */
  readonly capacitance_F?: number;
  /** Eddy loss across the inductance; none when left out. */
  readonly loss_ohm?: number;
}

/** What is in a slot. */
export interface Fitted {
  readonly slot: string;
  /** Path of a wire map, relative to the harness file; or else `record`. */
  readonly map?: string;
  /** Path of a bench record. */
  readonly record?: string;
  /** Clip to node; null or left out is insulated. */
  readonly leads?: Readonly<Record<string, string | null>>;
  readonly way?: Way;
  readonly assume?: Assumed;
}

/** A whole harness. Fields that are not listed here are kept when it is rewritten and ignored otherwise. */
export interface Harness {
  readonly format: 'harness/1';
  readonly title?: string;
  readonly slots: readonly Slot[];
  readonly joins?: readonly Join[];
  readonly parts?: readonly Part[];
  readonly switches: readonly Switch[];
  readonly output: { readonly hot: string; readonly ground: string };
  readonly load?: Load;
  readonly fitted: readonly Fitted[];
}

/** One position of each switch, by the switch's name. */
export type Setting = Readonly<Record<string, string>>;

/** Every mention of a node in the file, each as often as it stands there.
 * @param visit - called with the node and where it stands; leads also with their slot
 */
export function eachNode(
  harness: Harness,
  visit: (node: string, where: 'slot' | 'link' | 'part' | 'join' | 'output' | 'lead', slot?: string) => void,
): void {
  for (const { hot, link, ground, frame } of harness.slots) {
    for (const node of [hot, ground, frame]) visit(node, 'slot');
    if (link !== undefined) visit(link, 'link');
  }
  for (const join of harness.joins ?? []) for (const node of join) visit(node, 'join');
  for (const part of harness.parts ?? []) {
    const nodes = part.kind === 'pot' ? [part.a, part.wiper, part.b] : [part.a, part.b];
    for (const node of nodes) if (node !== null) visit(node, 'part');
  }
  for (const { positions } of harness.switches)
    for (const { joins } of positions)
      for (const join of joins ?? []) for (const node of join) visit(node, 'join');
  visit(harness.output.hot, 'output');
  visit(harness.output.ground, 'output');
  for (const { slot, leads } of harness.fitted)
    for (const node of Object.values(leads ?? {})) if (node !== null) visit(node, 'lead', slot);
}

/** All settings, the last switch changing fastest: the index of the position of each switch. */
export function settingsOf({ switches }: Harness): number[][] {
  let settings: number[][] = [[]];
  for (const { positions } of switches)
    settings = settings.flatMap((before) => positions.map((_, at) => [...before, at]));
  return settings;
}

/** A setting by the names of its positions. */
export function settingNames({ switches }: Harness, positions: readonly number[]): Setting {
  return Object.fromEntries(
    switches.map(({ id, positions: all }, at) => [id, all[positions[at] as number]!.name]),
  );
}

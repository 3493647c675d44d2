/** What can hurt whoever wires a pickup. */

export const CAUTIONS: readonly string[] = [
  'Unplug the amplifier from the mains and pull the cable out of the instrument before you open it. Work inside an amplifier is for a qualified person, and your local electrical codes apply.',
  'A soldering iron burns and its fumes are not for breathing: wear eye protection, air the room, wash your hands after solder with lead.',
  'Magnets are strong: keep them from pacemakers, cards and steel tools, and mind your fingers.',
  'The wire of a coil is thinner than a hair: hold the leads, never pull at them, and tape every joint that is not ground.',
];

/** Metal that is grounded and yet tied to the hot lead inside would short the output. */
export const METAL_NOT_CHECKED =
  'Not checked: whether metal of this pickup (plate, cover, frame) is tied to one of its leads; no clip sat on it. If it is tied to the ' +
  'lead that becomes hot, grounding it shorts the output. Before you solder, clip a spare lead to plate or cover, name its colour BARE and test again: ' +
  'one short contact is enough, no solder. Metal that can be touched must then have a way to ground.';

/** The cautions as lines: text with its own indent, and the indent of what wraps. */
export function cautionLines(): { readonly text: string; readonly indent: number }[] {
  return CAUTIONS.map((text) => ({ text: `  - ${text}`, indent: 4 }));
}

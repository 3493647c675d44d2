/** Wires between leads and lugs: each net has a track of its own in the channel between them. */
import { at, INK, line, type Shape } from './scene.ts';
import type { Pin } from './pins.ts';
import { cap, wire } from './wire.ts';

/** Between two tracks. */
const PITCH = 6;
/** Between the ends of two nets on one track. */
const APART = 8;
const DOT_radius = 2;
const TRACK_width = 1.3;
const GROUND_width = 2.4;

export interface Channel {
  readonly width: number;
  readonly shapes: readonly Shape[];
}

interface Net {
  readonly name: string;
  readonly pins: readonly Pin[];
  readonly top: number;
  readonly bottom: number;
}

/** Wires all pins of each net together; a pin that is alone in its net gets a cap (a lead) or nothing (a lug).
 * @param left - where the channel begins
 * @param least - its width at least
 * @param ground - the net that is drawn as a thick line
 */
export function channel(pins: readonly Pin[], left: number, least: number, ground: string): Channel {
  const byNet = new Map<string, Pin[]>();
  for (const pin of pins) byNet.set(pin.net, [...(byNet.get(pin.net) ?? []), pin]);
  const nets = [...byNet].map(([name, own]): Net => {
    const heights = own.map(({ y }) => y);
    return { name, pins: own, top: Math.min(...heights), bottom: Math.max(...heights) };
  });
  const tracks = placed(nets.filter(({ pins: own }) => own.length > 1), ground);
  const width = Math.max(least, (tracks.length + 1) * PITCH + 6);
  // Spread over the whole channel.
  const pitch = Math.min(10, (width - 6) / (tracks.length + 1));
  const shapes: Shape[] = [];
  const over: Shape[] = [];
  tracks.forEach((some, index) => {
    const x = left + 3 + (index + 1) * pitch;
    for (const { name, pins: own, top, bottom } of some) {
      shapes.push(line(at(x, top), at(x, bottom), name === ground ? GROUND_width : TRACK_width));
      for (const { y, isLead, colour } of own) {
        shapes.push(...(isLead ? wire([at(left, y), at(x, y)], colour) : [line(at(x, y), at(left + width, y), TRACK_width)]));
        over.push({ kind: 'circle', at: at(x, y), radius: DOT_radius, fill: INK });
      }
    }
  });
  for (const { pins: own } of nets.filter(({ pins: some }) => some.length === 1)) {
    const [{ y, isLead, colour }] = own as [Pin];
    if (isLead) shapes.push(...wire([at(left, y), at(left + 4, y)], colour), ...cap(at(left + 4, y)));
  }
  return { width, shapes: [...shapes, ...over] };
}

/** Nets by track, those that do not meet on one; ground has the first for itself. */
function placed(nets: readonly Net[], ground: string): Net[][] {
  const first = nets.filter(({ name }) => name === ground);
  const others = nets.filter(({ name }) => name !== ground).sort((a, b) => a.top - b.top || (a.name < b.name ? -1 : 1));
  const tracks: Net[][] = [];
  for (const net of others) {
    const free = tracks.find((some) => some.at(-1)!.bottom + APART < net.top);
    if (free === undefined) tracks.push([net]);
    else free.push(net);
  }
  return first.length > 0 ? [first, ...tracks] : tracks;
}

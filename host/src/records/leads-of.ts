/** Coils by what a person sees of them: the colours of their leads. */
import type { BenchRecord } from '../files/bench-record.ts';
import type { WireMap, WireMapCoil } from '../wiremap/wiremap.ts';

/** A pickup as it is compared with others. */
export interface Compared {
  readonly number: string;
  readonly map: WireMap;
  /** The colour code of a clip, else its number. */
  readonly lead: (clip: number) => string;
}

export function compared(number: string, map: WireMap, clips: BenchRecord['clips']): Compared {
  const colours = new Map(clips.map(({ clip, colour }) => [clip, colour]));
  return { number, map, lead: (clip) => colours.get(clip) ?? `clip ${clip}` };
}

/** The two leads of a coil, `BU-YE`, in an order that hangs on nothing but their names; null for an open coil. */
export function coilKey({ lead }: Compared, { ends }: WireMapCoil): string | null {
  return ends === null ? null : ends.map(lead).sort().join('-');
}

/** Whether a coil's end is on the frame, so that its two leads cannot just change places. */
export function isOnFrame({ map }: Compared, coil: WireMapCoil): boolean {
  return coil.ends?.some((end) => map.chassis.includes(end)) === true;
}

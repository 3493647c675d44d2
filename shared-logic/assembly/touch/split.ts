/** Events that are two: a lift, late or of what the last capture left, that runs into an arrival. */
import { eventAt, eventCount, splitEvent, TWO_s } from './events';
import { gridRate_Hz } from './grid';
import { liftedWithin } from './rest';

/** Either part lasts at least this long. */
const EDGE_s: f32 = 0.005;
/** A long event of which less than this share of its largest running flux is left may be two. */
const COMES_BACK: f32 = 0.5;

/** Splits such events of the channel measured last where their running flux turns. */
export function splitEvents(channel: u32): void {
  const long = <u32>(TWO_s * gridRate_Hz);
  const edge = <u32>(EDGE_s * gridRate_Hz);
  for (let k: u32 = 0; k < eventCount; k++) {
    const e = eventAt(k);
    const before = liftedWithin(channel, e.excursion_Wb);
    const after = e.over == 0 && liftedWithin(channel, e.flux_Wb - e.excursion_Wb);
    const lifted = (before || after) && !liftedWithin(channel, e.flux_Wb);
    if (!lifted && (e.to - e.from < long || abs(e.flux_Wb) > COMES_BACK * abs(e.excursion_Wb))) continue;
    if (e.from + edge > e.turn || e.turn + edge > e.to) continue;
    // Where samples are missing nobody can tell a lift and an arrival from a bounce.
    if (e.over != 0) e.over = 2;
    else if (splitEvent(k, e.turn)) k++;
    else return;
  }
}

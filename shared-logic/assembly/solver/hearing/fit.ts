/**
 * How well a set of windings explains all that was heard in one part: by the same likelihood that later tells which of them
 * a touch was on. Where a lead is a tap, a link or a contact, the readings of resistance are alike and the touches differ.
 */
import { NONE } from '../../layout';
import { evidence } from '../../blocks';
import { fillClose, fillHand, fillShown, hearObserved, hearTouch, sizesHeard, weigh, Weighed, weighElsewhere } from './hearing';
import { expectedCoils } from '../ground/expected';
import { addLogs, logarithm } from '../../waves';
import { addWinding, CLIPS, dropWindings, partOf, WINDING_ARM, windingCount } from '../ground/workspace';
import { ELSEWHERE } from '../ground/limits';


/**
 * ln likelihood of the touches and observations in a part if it holds up to three windings, against "nothing was touched";
 * 0 where nothing was heard. No windings may be listed yet.
 * @param a - ends of the windings, as vertices, two by two; NONE for no second and third
 */
export function fitOfWindings(a: u32, b: u32, c: u32, d: u32, e: u32, f: u32): f32 {
  assert(windingCount == 0);
  addCandidate(a, b, 0);
  if (c != NONE) addCandidate(c, d, 0);
  if (e != NONE) addCandidate(e, f, 0);
  return fitOfCandidates(partOf(a));
}

/** The same for three arms of a star with a hidden middle. @param i - a clip's vertex at the end of each arm */
export function fitOfArms(i: u32, j: u32, k: u32): f32 {
  assert(windingCount == 0);
  addCandidate(i, CLIPS, WINDING_ARM);
  addCandidate(j, CLIPS, WINDING_ARM);
  addCandidate(k, CLIPS, WINDING_ARM);
  return fitOfCandidates(partOf(i));
}

function addCandidate(i: u32, j: u32, flags: u32): void { addWinding(i, j, partOf(i), flags).j = <u8>j; }

function fitOfCandidates(part: u32): f32 {
  fillClose();
  fillHand();
  let sum: f32 = 0;
  for (let t: u32 = 0; t < <u32>evidence().touchCount; t++) if (hearTouch(t, part)) sum += fitOfHeard();
  for (let n: u32 = 0; n < <u32>evidence().observedCount; n++) if (hearObserved(n, part)) sum += fitOfHeard();
  dropWindings();
  return sum;
}

const WEIGHED: Weighed = changetype<Weighed>(memory.data(offsetof<Weighed>()));
/** The same for what was loaded last. One size cannot tell windings apart. */
function fitOfHeard(): f32 {
  if (sizesHeard() < 2) return 0;
  fillShown();
  // Each coil beyond two is as likely to have been touched as these.
  const coils = <f32>max<u32>(2, expectedCoils());
  const beside = max<f32>(ELSEWHERE, (coils - 2) / coils);
  const each = logarithm((1 - beside) / <f32>windingCount);
  weighElsewhere(WEIGHED);
  let all = WEIGHED.log + logarithm(beside);
  for (let w: u32 = 0; w < windingCount; w++) {
    weigh(w, WEIGHED);
    all = addLogs(all, each + WEIGHED.log);
  }
  return all;
}

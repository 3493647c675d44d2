/** The fixture's own capacitance at a clip that nothing hangs on: charged to the drive, then leaking through the bleed. */
import { board } from '../../blocks';
import { Answer, BURST_A, CAPTURE, CLIP_COUNT, Rate, RingWork, WORK_RING } from '../../layout';
import { OPEN_least_F, OPEN_most_F, keepOpen, openCapacitance } from '../../ring/fixture';
import { ringAdd, ringBegin } from '../../ring/gather';
import { FIXTURE_LEAD, FIXTURE_SAMPLES } from '../../ring/sizes';
import { DRV_CURRENT, DRV_PLUS, RET_BLEED, SENSE_RETURN, drivePort, ground1, ground2 } from '../ground/matrix';
import { convertOperation, cutsOperation } from '../ground/operation';
import { LEAST_nA, LEAST_settle_us } from '../ground/resistance';
import { setWork } from '../ground/status';

const CUTS: u32 = 16;
/** Charging takes a microsecond, the burst 0.4 ms. */
const PERIOD_us: u32 = 2000;
/** The bleed is 1 %; further off it was not read. */
const BLEED_ohm: f32 = 1e5;
const BLEED_tolerance: f32 = 0.03;
const SUMS: u32 = CAPTURE;

let clip: u32 = 0;
let bleed_ohm: f32 = BLEED_ohm;
/** The bleed is read first. */
let reading: bool = false;
/** Current of the source, amperes, as read at the reference. */
let current_A: f32 = 0;

function work(): RingWork { return changetype<RingWork>(<usize>WORK_RING); }

/** Starts a look. @param at - clip, 1 to 6 @param amperes - of LEAST_nA as read, to read the bleed with; 0 when the bleed was read */
export function beginOpen(at: u32, amperes: f32): void {
  clip = at;
  current_A = amperes;
  reading = amperes > 0;
  setWork(at, 0);
  if (reading) {
    convertOperation(0, 0, drivePort(at, at) | SENSE_RETURN | DRV_CURRENT | RET_BLEED, LEAST_nA, LEAST_settle_us, Rate.precise);
  } else {
    cutOpen();
  }
}

/** The bleed hangs on from the start; A+ goes over to the drive alone, one switch moves. */
function cutOpen(): void {
  ringBegin(work(), SUMS);
  const low = clip > 1 ? clip - 1 : 0;
  const high = clip < CLIP_COUNT ? clip + 1 : 0;
  const held = ground1(low) | ground2(high) | DRV_PLUS | RET_BLEED;
  const both = drivePort(clip, clip);
  cutsOperation(0, 0, both | held, (both & 0xf0) | held, 0, FIXTURE_SAMPLES, FIXTURE_LEAD, PERIOD_us, CUTS);
}

/** A burst was captured. */
export function openCaptured(): void { ringAdd(work(), SUMS, BURST_A, FIXTURE_SAMPLES); }

/** An operation has ended. @returns false when the look goes on */
export function openDone(answer: Answer): bool {
  if (!reading) return true;
  reading = false;
  const ohm = answer.volt_V / current_A;
  bleed_ohm = abs<f32>(ohm / BLEED_ohm - 1) < BLEED_tolerance ? ohm : BLEED_ohm;
  cutOpen();
  return false;
}

/** Takes what the look saw. @returns farads, or 0 when something hangs on the clip */
export function openFound(): f32 {
  const farad = openCapacitance(work(), SUMS, bleed_ohm, board().step_V);
  if (!(farad > OPEN_least_F && farad < OPEN_most_F)) return 0;
  keepOpen(clip, farad);
  return farad;
}

/**
 * Streaming look at the blocks of listening: has steel arrived, has it left, is it quiet. Hum is taken out block by
 * block with the block 100 ms before (five periods of 50 Hz, six of 60 Hz); after the arrival that pattern is frozen.
 */
import { LISTEN, LISTEN_BLOCK, LISTEN_RATE_Hz, OVERRANGE, SAMPLE_V } from '../layout';

/** Blocks of the hum pattern: 100 ms. */
const PATTERN: u32 = 10;
/** Flux in 10 ms that is surely more than drift and noise, webers. */
const ARRIVAL_Wb: f32 = 1.5e-5;
const ARRIVAL_noise: f32 = 8;
/** Share of the largest flux below which the steel has left. */
const LEFT: f32 = 0.3;
/** Share of the largest block flux below which a block is quiet. */
const QUIET: f32 = 0.04;
/** Share of the flux that came with the steel which has to go again before a lift is believed. */
const LIFTED: f32 = 0.5;
/** What is kept of the lift's flux from block to block: 0.64 s, so that an offset's drift does not add up. */
const LIFT_keep: f32 = 1 - 1.0 / 64;
const BLOCK_Wb: f32 = SAMPLE_V / <f32>LISTEN_RATE_Hz;

/** Sums of the last PATTERN blocks, two channels. */
const SUMS: usize = memory.data(80);
/** Sums of the newest block. */
const NEWEST: usize = memory.data(8);
/** Running flux, its largest size, largest block: two channels. */
let flux0: f32 = 0;
let flux1: f32 = 0;
let largest: f32 = 0;
let largestBlock: f32 = 0;
let noise: f32 = 0;
let blocks: u32 = 0;
let arrived: bool = false;
let left: bool = false;
let quiet: u32 = 0;
/** Flux that came with the steel and lies there, and flux since the lift is waited for: two channels. */
let held0: f32 = 0;
let held1: f32 = 0;
let lift0: f32 = 0;
let lift1: f32 = 0;

/** Starts anew. */
export function hearingBegin(): void {
  flux0 = 0;
  flux1 = 0;
  largest = 0;
  largestBlock = 0;
  noise = 0;
  blocks = 0;
  arrived = false;
  left = false;
  quiet = 0;
  liftBegin();
}

/** From here on the lift is waited for: what has come by now is what must go. */
export function liftBegin(): void {
  held0 = flux0;
  held1 = flux1;
  lift0 = 0;
  lift1 = 0;
}

/** Where the pattern's block of the present phase lies. */
function slotOf(channel: u32): usize { return SUMS + (channel * PATTERN + blocks % PATTERN) * 4; }

/** The newest block becomes part of the pattern: nothing has arrived yet. */
function learn(): void {
  store<f32>(slotOf(0), load<f32>(NEWEST));
  store<f32>(slotOf(1), load<f32>(NEWEST + 4));
  blocks++;
}

/** Flux of the newest block of a channel less that of the pattern, webers. */
function blockFlux(channel: u32): f32 {
  let sum: f32 = 0;
  const samples = LISTEN + channel * LISTEN_BLOCK * 4;
  for (let i: u32 = 0; i < LISTEN_BLOCK; i++) {
    const sample = load<i32>(samples + i * 4);
    // Over range means a strong touch: what was lost counts as full scale in the direction of its neighbours.
    sum += sample == OVERRANGE ? (sum < 0 ? <f32>-1.4e6 : <f32>1.4e6) : <f32>sample;
  }
  store<f32>(NEWEST + channel * 4, sum);
  return blocks < PATTERN ? 0 : (sum - load<f32>(slotOf(channel))) * BLOCK_Wb;
}

/** Takes the block in LISTEN. @param channels - 1 or 2 @returns true when steel has just arrived */
export function hear(channels: u32): bool {
  const f0 = blockFlux(0);
  const f1 = channels > 1 ? blockFlux(1) : 0;
  const size = max<f32>(abs<f32>(f0), abs<f32>(f1));
  if (!arrived) {
    const limit = max<f32>(ARRIVAL_Wb, ARRIVAL_noise * noise);
    if (size > limit && blocks >= 2 * PATTERN) {
      arrived = true;
      blocks++;
      flux0 = f0;
      flux1 = f1;
      largest = size;
      largestBlock = size;
      return true;
    }
    if (blocks >= PATTERN) noise += (size - noise) * <f32>0.1;
    learn();
    return false;
  }
  blocks++;
  flux0 += f0;
  flux1 += f1;
  lift0 = lift0 * LIFT_keep + f0;
  lift1 = lift1 * LIFT_keep + f1;
  const now = max<f32>(abs<f32>(flux0), abs<f32>(flux1));
  if (now > largest) largest = now;
  if (size > largestBlock) largestBlock = size;
  // A bounce leaves for a moment only: what counts is where the flux is while it is quiet.
  left = now < LEFT * largest;
  quiet = size < max<f32>(QUIET * largestBlock, 3 * noise) ? quiet + 1 : 0;
  return false;
}

/** Whether the steel has left again and nothing has moved for a number of blocks. */
export function hasLeft(quietBlocks: u32): bool { return left && quiet >= quietBlocks; }

/** Whether something moved and nothing has for a number of blocks. */
export function isQuiet(quietBlocks: u32): bool { return arrived && quiet >= quietBlocks; }

/** Whether what came is still there. */
export function isHeld(): bool { return arrived && !left; }

/**
 * Whether the flux that came has gone since liftBegin, and nothing has moved for a number of blocks. Steel that was
 * lifted before, unheard, and comes and goes once more leaves no flux behind and is not taken for a lift.
 */
export function hasLifted(quietBlocks: u32): bool {
  const leads0 = abs<f32>(held0) >= abs<f32>(held1);
  const held = leads0 ? held0 : held1;
  const lift = leads0 ? lift0 : lift1;
  return quiet >= quietBlocks && (held > 0 ? lift < -LIFTED * held : lift > -LIFTED * held);
}

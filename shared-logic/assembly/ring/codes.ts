/**
 * The wide codes of the RP2040's converter (erratum RP2040-E11): codes 512, 1536, 2560 and 3584 are wider than the others, each by
 * as much as the calibration says. All others are so much narrower that all 4096 are as many as there are, so a sample is right once
 * it is scaled by `codeGain` and what of the wide codes lies between it and 0 is added.
 */
import { calibration } from '../blocks';

/** One code of the x1 input, and of x8, in units of 2^-20 V. */
export const CODE_X1: i32 = 768;
export const CODE_X8: i32 = 96;
/** Codes from the middle to a wide one. */
const NEAR: i32 = 512;
const FAR: i32 = 1536;

/** Half of what each wide code has too much, in 1/256 of a code, over the gain of all. */
let half1: i32 = 0;
let half2: i32 = 0;
let half3: i32 = 0;
let half4: i32 = 0;

let gain: f32 = 1;

/** Width of the codes that are not wide, as a share of the mean of all; since `codesBegin`. */
@inline export function codeGain(): f32 { return gain; }

function halfOf(extra: f32): i32 { return <i32>nearest<f32>(extra * 128 / gain); }

/** Takes the widths from the calibration in use: once before samples are straightened. */
export function codesBegin(): void {
  const c = calibration();
  gain = 1 - (c.wide1 + c.wide2 + c.wide3 + c.wide4) / 4096;
  half1 = halfOf(c.wide1);
  half2 = halfOf(c.wide2);
  half3 = halfOf(c.wide3);
  half4 = halfOf(c.wide4);
}

/**
 * A sample with the wide codes between it and 0 added; to be scaled by `codeGain`. Sample by sample: jitter would smear the steps of
 * a sum. @param sample - in units of 2^-20 V @param code - of its input, `CODE_X1` or `CODE_X8`
 */
@inline export function straightened(sample: i32, code: i32): i32 {
  let halves: i32 = 0;
  if (sample >= NEAR * code) {
    halves = half3;
    if (sample > NEAR * code) halves += half3;
    if (sample >= FAR * code) halves += half4;
    if (sample > FAR * code) halves += half4;
  } else if (sample <= -NEAR * code) {
    halves = -half2;
    if (sample < -NEAR * code) halves -= half2;
    if (sample <= -FAR * code) halves -= half1;
    if (sample < -FAR * code) halves -= half1;
  }
  return sample + ((halves * code) >> 8);
}

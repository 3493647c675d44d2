/**
 * How well one emf explains what a few channels show: y = a flux + shares of other coils + noise, all normal. The
 * shares make the channels' errors alike, so that the covariance is a matrix; Cholesky in f32, at most 8 channels.
 */
import { logarithm } from '../../waves';

export const CHANNELS_most: u32 = 8;
const MATRIX: usize = memory.data(256);
const ANSWER: usize = memory.data(32);
const VALUE: usize = memory.data(32);

let count: u32 = 0;

/** Quadratic forms of what the channels answer and show with the inverse covariance, and ln of its determinant. */
@unmanaged export class Forms {
  answerAnswer: f32;
  answerValue: f32;
  valueValue: f32;
  logDeterminant: f32;
}

@inline function cell(i: u32, j: u32): usize { return MATRIX + ((i << 3) + j << 2); }

/** Begins with no channel. */
export function clearChannels(): void { count = 0; }
/** Number of channels so far. */
export function channelsUsed(): u32 { return count; }

/** A channel. @param value - what it shows @param answer - what it shows of one unit of emf @param variance - of its noise */
export function addChannel(value: f32, answer: f32, variance: f32): void {
  assert(count < CHANNELS_most);
  for (let j: u32 = 0; j < count; j++) store<f32>(cell(count, j), 0);
  store<f32>(cell(count, count), variance);
  store<f32>(ANSWER + (count << 2), answer);
  store<f32>(VALUE + (count << 2), value);
  count++;
}

/** Covariance of two channels. @param i - not below j */
export function addCovariance(i: u32, j: u32, value: f32): void { store<f32>(cell(i, j), load<f32>(cell(i, j)) + value); }

/** Solves with the factor in place: the channels are used up. */
export function factor(into: Forms): void {
  let answerAnswer: f32 = 0;
  let answerValue: f32 = 0;
  let valueValue: f32 = 0;
  let logDeterminant: f32 = 0;
  for (let i: u32 = 0; i < count; i++) {
    let answer = load<f32>(ANSWER + (i << 2));
    let value = load<f32>(VALUE + (i << 2));
    for (let j: u32 = 0; j <= i; j++) {
      let sum = load<f32>(cell(i, j));
      for (let k: u32 = 0; k < j; k++) sum -= load<f32>(cell(i, k)) * load<f32>(cell(j, k));
      if (j == i) {
        // Rounding may leave nothing of a channel that others repeat.
        const left = max<f32>(sum, <f32>1e-9);
        logDeterminant += logarithm(left);
        const root = sqrt<f32>(left);
        store<f32>(cell(i, i), root);
        answer /= root;
        value /= root;
      } else {
        const off = sum / load<f32>(cell(j, j));
        store<f32>(cell(i, j), off);
        answer -= off * load<f32>(ANSWER + (j << 2));
        value -= off * load<f32>(VALUE + (j << 2));
      }
    }
    store<f32>(ANSWER + (i << 2), answer);
    store<f32>(VALUE + (i << 2), value);
    answerAnswer += answer * answer;
    answerValue += answer * value;
    valueValue += value * value;
  }
  into.answerAnswer = answerAnswer;
  into.answerValue = answerValue;
  into.valueValue = valueValue;
  into.logDeterminant = logDeterminant;
}

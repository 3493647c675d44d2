/** Small systems of normal equations, symmetric and positive definite, in f32. */

/** Unknowns at most. */
const NORMAL_most: u32 = 5;
const ROW: u32 = (NORMAL_most + 1) * 4;

@inline function cell(at: u32, i: u32, j: u32): u32 { return at + i * ROW + j * 4; }

/** Bytes of one system: rows of NORMAL_most + 1, the right side last. */
export const NORMAL_bytes: u32 = NORMAL_most * ROW;

/** Adds to an entry on or below the diagonal. */
@inline export function normalAdd(at: u32, i: u32, j: u32, value: f32): void {
  store<f32>(cell(at, i, j), load<f32>(cell(at, i, j)) + value);
}

/** Adds to the right side. */
@inline export function rightAdd(at: u32, i: u32, value: f32): void { normalAdd(at, i, NORMAL_most, value); }

/** What `solveNormal` has put in the place of the right side. */
@inline export function solution(at: u32, i: u32): f32 { return load<f32>(cell(at, i, NORMAL_most)); }

/** Below this share of its diagonal entry what is left of a pivot is rounding. */
const PIVOT_least: f32 = 2e-6;

/**
 * Factorises (L D L') and solves in place.
 * @param size - unknowns @returns false when the columns do not tell the unknowns apart
 */
export function solveNormal(at: u32, size: u32): bool {
  for (let j: u32 = 0; j < size; j++) {
    const whole = load<f32>(cell(at, j, j));
    let pivot = whole;
    for (let k: u32 = 0; k < j; k++) {
      const l = load<f32>(cell(at, j, k));
      pivot -= l * l * load<f32>(cell(at, k, k));
    }
    if (!(pivot > PIVOT_least * whole)) return false;
    store<f32>(cell(at, j, j), pivot);
    for (let i = j + 1; i < size; i++) {
      let sum = load<f32>(cell(at, i, j));
      for (let k: u32 = 0; k < j; k++) sum -= load<f32>(cell(at, i, k)) * load<f32>(cell(at, j, k)) * load<f32>(cell(at, k, k));
      store<f32>(cell(at, i, j), sum / pivot);
    }
  }
  for (let i: u32 = 0; i < size; i++) {
    let sum = load<f32>(cell(at, i, NORMAL_most));
    for (let k: u32 = 0; k < i; k++) sum -= load<f32>(cell(at, i, k)) * load<f32>(cell(at, k, NORMAL_most));
    store<f32>(cell(at, i, NORMAL_most), sum);
  }
  for (let n = size; n > 0; n--) {
    const i = n - 1;
    let sum = load<f32>(cell(at, i, NORMAL_most)) / load<f32>(cell(at, i, i));
    for (let k = n; k < size; k++) sum -= load<f32>(cell(at, k, i)) * load<f32>(cell(at, k, NORMAL_most));
    store<f32>(cell(at, i, NORMAL_most), sum);
  }
  return true;
}

/** The diagonal entry of the inverse that belongs to one unknown: its variance in units of the noise's. After `solveNormal`. */
export function varianceOf(at: u32, size: u32, unknown: u32): f32 {
  // Column of L^-1 from the unknown on, kept in the right side, which is not needed any more.
  let sum: f32 = 0;
  for (let i = unknown; i < size; i++) {
    let x: f32 = i == unknown ? 1 : 0;
    for (let k = unknown; k < i; k++) x -= load<f32>(cell(at, i, k)) * load<f32>(cell(at, k, NORMAL_most));
    store<f32>(cell(at, i, NORMAL_most), x);
    sum += x * x / load<f32>(cell(at, i, i));
  }
  return sum;
}

/**
 * exp(M x) for s^2 + g s + w = 0, whatever its roots: with M^2 = -g M - w every power is c + s M, so a swing, a creep and the
 * border between them are one formula, and no sine or exponential is taken. c(x) and s(x) are the motions that start from
 * (1, 0) and (0, 1); time is counted in steps.
 */

/** Terms of the series; at w = g = 2 and one step the rest is below 1e-6. */
const TERMS: u32 = 14;

/** One stride: c and s, and what both gain with w. */
@unmanaged export class Stride { c: f32; s: f32; c_w: f32; s_w: f32; }

/** Fills a stride. @param x - in steps, either way; |x| times the larger of 1, w and g at most 2 or so */
export function strideOf(out: Stride, w: f32, g: f32, x: f32): void {
  let a: f32 = 1;
  let b: f32 = 0;
  let a_w: f32 = 0;
  let b_w: f32 = 0;
  out.c = 1;
  out.s = 0;
  out.c_w = 0;
  out.s_w = 0;
  for (let n: u32 = 1; n <= TERMS; n++) {
    const share: f32 = x / <f32>n;
    const nextA: f32 = -w * b * share;
    const nextB: f32 = (a - g * b) * share;
    const nextA_w: f32 = -(b + w * b_w) * share;
    b_w = (a_w - g * b_w) * share;
    a_w = nextA_w;
    a = nextA;
    b = nextB;
    out.c += a;
    out.s += b;
    out.c_w += a_w;
    out.s_w += b_w;
  }
}

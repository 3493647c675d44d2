/** A first guess of a ring: two exponentials obey y(k + 2 d) = p y(k + d) + q y(k), whatever their amplitudes (Prony, 1795). */
import { RingWork } from '../layout';
import { logarithm } from '../waves';

const WINDOW_parts: u32 = 16;

/** Inverse cosine within 7e-5 (Abramowitz and Stegun, Handbook of Mathematical Functions, 4.4.45). */
function arcCosine(x: f32): f32 {
  const size = min<f32>(abs<f32>(x), 1);
  const turn = sqrt<f32>(1 - size)
    * (<f32>1.5707288 + size * (<f32>-0.2121144 + size * (<f32>0.0742610 - <f32>0.0187293 * size)));
  return x < 0 ? <f32>3.1415927 - turn : turn;
}

/** Lag of the recursion: a quarter of a period where one is seen, since there p is small and q is the decay. */
function lagOf(count: u32, points: u32): u32 {
  const negative = load<f32>(points + 8) < 0;
  let cross: u32 = 2;
  while (cross < count && (load<f32>(points + cross * 4) < 0) == negative) cross++;
  return max<u32>(min<u32>(cross / 2, max<u32>(count / WINDOW_parts, 2)), 1);
}

/**
 * Guesses w and g of the work from its points.
 * @returns false when they do not die away
 */
export function guessRing(work: RingWork, points: u32): bool {
  const count: u32 = work.count;
  const lag = lagOf(count, points);
  let aa: f32 = 0;
  let ab: f32 = 0;
  let bb: f32 = 0;
  let ay: f32 = 0;
  let by: f32 = 0;
  for (let k: u32 = 0; k + 2 * lag < count; k++) {
    const b = load<f32>(points + k * 4);
    const a = load<f32>(points + (k + lag) * 4);
    const y = load<f32>(points + (k + 2 * lag) * 4);
    aa += a * a;
    ab += a * b;
    bb += b * b;
    ay += a * y;
    by += b * y;
  }
  const whole = aa * bb - ab * ab;
  if (!(whole > <f32>1e-6 * aa * bb)) return false;
  const p = (ay * bb - by * ab) / whole;
  const q = (by * aa - ay * ab) / whole;
  const per: f32 = <f32>1 / <f32>lag;
  const inside = p * p + 4 * q;
  if (inside < 0) {
    const size = sqrt<f32>(-q);
    const fall = logarithm(size) * per;
    const turn = arcCosine(p / (2 * size)) * per;
    work.w = fall * fall + turn * turn;
    work.g = -2 * fall;
  } else {
    const root = sqrt<f32>(inside);
    const slow = logarithm(min<f32>((p + root) / 2, <f32>0.999)) * per;
    // Noise may take the fast one's sign: then it is gone within a step.
    const fast = logarithm(max<f32>((p - root) / 2, <f32>0.02)) * per;
    work.w = slow * fast;
    work.g = -(slow + fast);
  }
  return work.w > 0 && work.g > 0;
}

/** Sines and exponentials from tables: integers, since a soft-float operation costs a hundred times one of these. */

/** Quarter of a sine, 64 steps, 32767 = 1; one entry more so that the last step can be interpolated. */
const QUARTER: usize = memory.data<i16>([
  0, 804, 1608, 2410, 3212, 4011, 4808, 5602, 6393, 7179, 7962, 8739, 9512, 10278, 11039, 11793, 12539, 13279, 14010,
  14732, 15446, 16151, 16846, 17530, 18204, 18868, 19519, 20159, 20787, 21403, 22005, 22594, 23170, 23731, 24279, 24811,
  25329, 25832, 26319, 26790, 27245, 27683, 28105, 28510, 28898, 29268, 29621, 29956, 30273, 30571, 30852, 31113, 31356,
  31580, 31785, 31971, 32137, 32285, 32412, 32521, 32609, 32678, 32728, 32757, 32767, 32757]);

/** A quarter of a turn of a phase. */
export const QUARTER_TURN: u32 = 0x40000000;

/** Sine, 32767 = 1, within 2 units. @param phase - a full turn is 2^32 */
@inline export function sine(phase: u32): i32 {
  let p = phase & 0x7fffffff;
  if (p > QUARTER_TURN) p = 0x80000000 - p;
  const at = QUARTER + <usize>((p >>> 24) << 1);
  const low = <i32>load<i16>(at);
  const value = low + (((<i32>load<i16>(at + 2) - low) * <i32>((p >>> 9) & 0x7fff)) >> 15);
  return phase >>> 31 != 0 ? -value : value;
}
@inline export function cosine(phase: u32): i32 { return sine(phase + QUARTER_TURN); }

/** 2^20 * exp(-k / 16), k from 0 to 255. */
const DECAY: usize = memory.data<u32>([
  1048576,985046,925365,869300,816632,767155,720675,677012,635993,597461,561262,527257,495312,465303,437112,410628,
  385750,362378,340423,319798,300422,282220,265122,249059,233969,219793,206477,193967,182215,171175,160804,151062,
  141909,133311,125235,117647,110519,103823,97533,91624,86072,80857,75959,71356,67033,62972,59157,55572,
  52206,49043,46071,43280,40658,38194,35880,33706,31664,29746,27944,26251,24660,23166,21763,20444,
  19205,18042,16949,15922,14957,14051,13200,12400,11649,10943,10280,9657,9072,8522,8006,7521,
  7065,6637,6235,5857,5502,5169,4856,4562,4285,4026,3782,3553,3337,3135,2945,2767,
  2599,2442,2294,2155,2024,1902,1786,1678,1576,1481,1391,1307,1228,1153,1083,1018,
  956,898,844,793,745,700,657,617,580,545,512,481,452,424,399,374,
  352,330,310,292,274,257,242,227,213,200,188,177,166,156,147,138,
  129,122,114,107,101,95,89,84,78,74,69,65,61,57,54,51,
  48,45,42,39,37,35,33,31,29,27,25,24,22,21,20,19,
  18,16,15,15,14,13,12,11,11,10,9,9,8,8,7,7,
  6,6,6,5,5,5,4,4,4,4,3,3,3,3,3,3,
  2,2,2,2,2,2,2,2,1,1,1,1,1,1,1,1,
  1,1,1,1,1,1,1,1,1,0,0,0,0,0,0,0,
  0,0,0,0,0,0,0,0,0,0,0,0,0,0,0,0]);
export const DECAY_STEPS: i32 = 240;

/** 2^20 * exp(-k / 16). @param k - 0 to DECAY_STEPS */
@inline export function decay(k: i32): u32 { return load<u32>(DECAY + <usize>(k << 2)); }

/** exp(x), relative error below 1e-6, for -87 to 87 (0 below, held above): f32 throughout. */
export function exponential(x: f32): f32 {
  if (x < -87) return 0;
  const y = min<f32>(x, 87);
  const whole = nearest(y * <f32>1.4426950409);
  const r = y - whole * <f32>0.69314575 - whole * <f32>1.4286068e-6;
  const series: f32 = <f32>1 + r * (<f32>1 + r * (<f32>0.5 + r * (<f32>0.16666667 + r * (<f32>0.041666668 + r * <f32>0.008333334))));
  return series * reinterpret<f32>((<i32>whole + 127) << 23);
}

/** Natural logarithm, error below 1e-6, for normal x above 0; -87 otherwise: f32 throughout. */
export function logarithm(x: f32): f32 {
  if (!(x >= <f32>1.2e-38)) return -87;
  const bits = reinterpret<i32>(x);
  let exponent = (bits >> 23) - 127;
  let m = reinterpret<f32>((bits & 0x7fffff) | 0x3f800000);
  if (m > <f32>1.4142135) {
    m *= <f32>0.5;
    exponent++;
  }
  const t = (m - 1) / (m + 1);
  const t2 = t * t;
  const series: f32 = <f32>2 * t * (<f32>1 + t2 * (<f32>0.33333334 + t2 * (<f32>0.2 + t2 * (<f32>0.14285715 + t2 * <f32>0.11111111))));
  return series + <f32>exponent * <f32>0.6931472;
}

/** ln(exp(a) + exp(b)). */
export function addLogs(a: f32, b: f32): f32 {
  const high = max(a, b);
  return high + logarithm(1 + exponential(min(a, b) - high));
}

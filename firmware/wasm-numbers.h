/**
 * The lower and the higher of two numbers of the module, and numbers made whole, in place of wasm2c's own, which compare up to five
 * times in software at each of some three hundred places: here once, and as integers. build.mjs takes wasm2c's away.
 */
#ifndef WASM_NUMBERS_H_
#define WASM_NUMBERS_H_

#include <math.h>
#include <string.h>

#include "wasm-rt.h"

#define WASM_INFINITY_bits 0x7f800000u

/** A float's bits as a number that orders as floats do, -0 below 0. */
static inline int32_t wasm_order(uint32_t bits) {
  return (int32_t)((bits >> 31) != 0 ? bits ^ 0x7fffffffu : bits);
}
static inline uint32_t wasm_bits(float x) {
  uint32_t bits;
  memcpy(&bits, &x, sizeof(bits));
  return bits;
}
static inline int wasm_is_nan(uint32_t bits) { return (bits & 0x7fffffffu) > WASM_INFINITY_bits; }

/** f32.max and, with `least`, f32.min: not a number where either is none. */
static __attribute__((noinline)) float wasm_extreme(float x, float y, int least) {
  const uint32_t a = wasm_bits(x);
  const uint32_t b = wasm_bits(y);
  if (UNLIKELY(wasm_is_nan(a) || wasm_is_nan(b))) return NAN;
  return (wasm_order(a) < wasm_order(b)) == (least != 0) ? x : y;
}

#define FMIN(x, y) wasm_extreme(x, y, 1)
#define FMAX(x, y) wasm_extreme(x, y, 0)

/** Exponents, with their bias, from which on a number is 2^31, and 2^32, or more. */
#define WASM_2_31_exponent 158u
#define WASM_2_32_exponent 159u

/** i32.trunc_sat_f32_s: what is too large is held, what is no number is 0. */
static __attribute__((noinline)) uint32_t wasm_whole(float x) {
  const uint32_t bits = wasm_bits(x);
  if (((bits >> 23) & 0xffu) < WASM_2_31_exponent) return (uint32_t)(int32_t)x;
  if (wasm_is_nan(bits)) return 0;
  return (bits >> 31) != 0 ? (uint32_t)INT32_MIN : (uint32_t)INT32_MAX;
}
/** i32.trunc_sat_f32_u. */
static __attribute__((noinline)) uint32_t wasm_whole_above(float x) {
  const uint32_t bits = wasm_bits(x);
  if ((bits >> 31) != 0 || wasm_is_nan(bits)) return 0;
  return (bits >> 23) < WASM_2_32_exponent ? (uint32_t)x : UINT32_MAX;
}

#define I32_TRUNC_SAT_S_F32(x) wasm_whole(x)
#define I32_TRUNC_SAT_U_F32(x) wasm_whole_above(x)

#endif

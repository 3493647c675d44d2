/**
 * The compiler's call for (float)int64_t. Its own library goes by way of double and brings 3 KB of soft doubles with it;
 * these are integers only. Rounds to nearest, ties to even (IEEE 754), as f32.convert_i64_s of WebAssembly does.
 */
#include <stdint.h>

#define FRACTION_BITS 23u
#define EXPONENT_BIAS 127u

float __aeabi_l2f(int64_t value);

float __aeabi_l2f(int64_t value) {
  uint64_t size = value < 0 ? 0u - (uint64_t)value : (uint64_t)value;
  union { uint32_t bits; float number; } result = { 0 };
  if (size == 0) return result.number;
  const uint32_t high = (uint32_t)(size >> 32);
  const uint32_t top = high != 0 ? 63u - (uint32_t)__builtin_clz(high) : 31u - (uint32_t)__builtin_clz((uint32_t)size);
  uint32_t fraction;
  if (top <= FRACTION_BITS) {
    fraction = (uint32_t)size << (FRACTION_BITS - top);
  } else {
    const uint32_t shift = top - FRACTION_BITS;
    const uint64_t rest = size & (((uint64_t)1 << shift) - 1);
    const uint64_t half = (uint64_t)1 << (shift - 1);
    fraction = (uint32_t)(size >> shift);
    if (rest > half || (rest == half && (fraction & 1u) != 0)) fraction++;
  }
  /* The fraction's leading one adds the last one to the exponent, and so does a carry out of the rounding. */
  result.bits = (value < 0 ? 1u << 31 : 0) + ((EXPONENT_BIAS - 1 + top) << FRACTION_BITS) + fraction;
  return result.number;
}

/**
 * Loads and stores of the module, in place of wasm2c's own: the memory's place and size are known when the
 * image is built, so that a bounds check is one comparison with a constant. build.mjs rewrites the calls.
 *
 * The check is on the address alone, which is the same for all fields of a record and so made once for many
 * loads: what begins within the memory ends within the pad behind it, where nothing else lies. wasm would
 * trap on an access that reaches beyond the end; here it meets the pad. build.mjs refuses a larger offset.
 */
#ifndef WASM_MEMORY_H_
#define WASM_MEMORY_H_

#include "layout.h"
#include "wasm-rt.h"

/** Bytes behind the memory: the largest offset and the widest value. */
#define WASM_PAD_bytes 64u
extern uint8_t module_memory[LAYOUT_MEMORY_bytes + WASM_PAD_bytes];

#define WASM_MEMORY_CHECK(address) \
  if (UNLIKELY((address) >= LAYOUT_MEMORY_bytes)) wasm_rt_trap(WASM_RT_TRAP_OOB)

/** Room that interrupts, the C library and one frame of a leaf (LEAF_bytes of build.mjs) need below the frames that asked. */
#define WASM_STACK_MARGIN_bytes 2304u

/**
 * Every function of the module that calls another asks first: a fault handler needs a stack itself, so an overrun that is met
 * only at the end of the RAM could not switch anything off before the watchdog bites.
 */
static inline __attribute__((always_inline)) void wasm_rt_check_stack(void) {
  extern uint32_t stack_bottom[];
  uint32_t sp;
  __asm volatile("mov %0, sp" : "=r"(sp));
  if (UNLIKELY(sp < (uint32_t)stack_bottom + WASM_STACK_MARGIN_bytes)) wasm_rt_trap(WASM_RT_TRAP_EXHAUSTION);
}

/** @param stored - type in memory @param result - type of the value on wasm's stack */
#define WASM_LOAD(name, stored, result)                                        \
  static inline __attribute__((always_inline)) result name##_at(uint32_t address, uint32_t offset) {          \
    typedef stored __attribute__((may_alias)) stored_t;                        \
    WASM_MEMORY_CHECK(address);                                                \
    return (result)*(const stored_t *)(module_memory + offset + address);      \
  }
#define WASM_STORE(name, stored, value_type)                                               \
  static inline __attribute__((always_inline)) void name##_at(uint32_t address, uint32_t offset, value_type value) {      \
    typedef stored __attribute__((may_alias)) stored_t;                                    \
    WASM_MEMORY_CHECK(address);                                                            \
    *(stored_t *)(module_memory + offset + address) = (stored)value;                       \
  }

/* Signed loads widen with sign: through int32_t and int64_t to the unsigned type of the same width. */
WASM_LOAD(i32_load, uint32_t, uint32_t)
WASM_LOAD(i64_load, uint64_t, uint64_t)
WASM_LOAD(f32_load, float, float)
WASM_LOAD(f64_load, double, double)
WASM_LOAD(i32_load8_s, int8_t, uint32_t)
WASM_LOAD(i32_load8_u, uint8_t, uint32_t)
WASM_LOAD(i32_load16_s, int16_t, uint32_t)
WASM_LOAD(i32_load16_u, uint16_t, uint32_t)
WASM_LOAD(i64_load8_s, int8_t, uint64_t)
WASM_LOAD(i64_load8_u, uint8_t, uint64_t)
WASM_LOAD(i64_load16_s, int16_t, uint64_t)
WASM_LOAD(i64_load16_u, uint16_t, uint64_t)
WASM_LOAD(i64_load32_s, int32_t, uint64_t)
WASM_LOAD(i64_load32_u, uint32_t, uint64_t)
WASM_STORE(i32_store, uint32_t, uint32_t)
WASM_STORE(i64_store, uint64_t, uint64_t)
WASM_STORE(f32_store, float, float)
WASM_STORE(f64_store, double, double)
WASM_STORE(i32_store8, uint8_t, uint32_t)
WASM_STORE(i32_store16, uint16_t, uint32_t)
WASM_STORE(i64_store8, uint8_t, uint64_t)
WASM_STORE(i64_store16, uint16_t, uint64_t)
WASM_STORE(i64_store32, uint32_t, uint64_t)

#endif

/**
 * What wasm2c's output asks of its surroundings, on bare metal: one module, one memory that never grows,
 * traps that never return. Bounds checks are on; alignment is promised by shared-logic/assembly/layout.ts,
 * so that a load is one instruction and not four.
 */
#ifndef WASM_RT_H_
#define WASM_RT_H_

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#define LIKELY(x) __builtin_expect(!!(x), 1)
#define UNLIKELY(x) __builtin_expect(!!(x), 0)

#define WABT_BIG_ENDIAN 0
#define WASM_RT_USE_SEGUE 0
#define WASM_RT_SEGUE_FREE_SEGMENT 0
#define WASM_RT_SANITY_CHECKS 0
#define WASM_RT_STACK_DEPTH_COUNT 0
#define WASM_RT_MEMCHECK_GUARD_PAGES 0

static inline __attribute__((always_inline)) void wasm_rt_copy(void *to, const void *from, size_t n) {
  if (n == 2) __builtin_memcpy(__builtin_assume_aligned(to, 2), __builtin_assume_aligned(from, 2), 2);
  else if (n == 4) __builtin_memcpy(__builtin_assume_aligned(to, 4), __builtin_assume_aligned(from, 4), 4);
  else if (n == 8) __builtin_memcpy(__builtin_assume_aligned(to, 4), __builtin_assume_aligned(from, 4), 8);
  else __builtin_memcpy(to, from, n);
}
#define wasm_rt_memcpy(to, from, n) \
  (__builtin_constant_p(n) ? wasm_rt_copy(to, from, n) : (void)__builtin_memcpy(to, from, n))

typedef enum {
  WASM_RT_TRAP_NONE, WASM_RT_TRAP_OOB, WASM_RT_TRAP_INT_OVERFLOW, WASM_RT_TRAP_DIV_BY_ZERO,
  WASM_RT_TRAP_INVALID_CONVERSION, WASM_RT_TRAP_UNREACHABLE, WASM_RT_TRAP_CALL_INDIRECT, WASM_RT_TRAP_EXHAUSTION,
} wasm_rt_trap_t;

/** The board's: current off, fault light, restart. */
_Noreturn void wasm_rt_trap(wasm_rt_trap_t reason);

typedef enum { WASM_RT_I32, WASM_RT_I64, WASM_RT_F32, WASM_RT_F64, WASM_RT_V128, WASM_RT_FUNCREF, WASM_RT_EXTERNREF } wasm_rt_type_t;
typedef const char *wasm_rt_func_type_t;
typedef void (*wasm_rt_function_ptr_t)(void);
typedef struct { wasm_rt_function_ptr_t fn; } wasm_rt_tailcallee_t;
typedef struct {
  wasm_rt_func_type_t func_type;
  wasm_rt_function_ptr_t func;
  wasm_rt_tailcallee_t func_tailcallee;
  void *module_instance;
} wasm_rt_funcref_t;
typedef void *wasm_rt_externref_t;
typedef struct { wasm_rt_funcref_t *data; uint32_t max_size, size; } wasm_rt_funcref_table_t;
typedef struct { wasm_rt_externref_t *data; uint32_t max_size, size; } wasm_rt_externref_table_t;
static const wasm_rt_funcref_t wasm_rt_funcref_null_value = { 0, 0, { 0 }, 0 };
static const wasm_rt_externref_t wasm_rt_externref_null_value = 0;

/** `size` has 32 bits: the checks of each load are made with it. */
typedef struct { uint8_t *data; uint32_t pages, max_pages, page_size, size; bool is64; } wasm_rt_memory_t;

bool wasm_rt_is_initialized(void);
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t max_pages, bool is64, uint32_t page_size);
void wasm_rt_free_memory(wasm_rt_memory_t *memory);

#endif

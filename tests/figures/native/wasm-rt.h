/*
 * What wasm2c's output needs of its embedder, for a PC: explicit bounds checks, no signals, no tables in use.
 * The firmware has one of its own with the same meaning; this one is only for the figure that compares speeds.
 */
#ifndef TAPSTONE_FIGURES_WASM_RT_H
#define TAPSTONE_FIGURES_WASM_RT_H

#include <stdbool.h>
#include <stdint.h>
#include <string.h>

#define LIKELY(x) __builtin_expect(!!(x), 1)
#define UNLIKELY(x) __builtin_expect(!!(x), 0)
#define wasm_rt_memcpy memcpy
#define WABT_BIG_ENDIAN 0
#define WASM_RT_USE_SEGUE 0
#define WASM_RT_SEGUE_FREE_SEGMENT 0
#define WASM_RT_SANITY_CHECKS 0
#define WASM_RT_STACK_DEPTH_COUNT 0
#define WASM_RT_MEMCHECK_GUARD_PAGES 0

typedef enum {
  WASM_RT_TRAP_NONE,
  WASM_RT_TRAP_OOB,
  WASM_RT_TRAP_INT_OVERFLOW,
  WASM_RT_TRAP_DIV_BY_ZERO,
  WASM_RT_TRAP_INVALID_CONVERSION,
  WASM_RT_TRAP_UNREACHABLE,
  WASM_RT_TRAP_CALL_INDIRECT,
  WASM_RT_TRAP_EXHAUSTION
} wasm_rt_trap_t;

typedef enum { WASM_RT_I32, WASM_RT_I64, WASM_RT_F32, WASM_RT_F64, WASM_RT_V128 } wasm_rt_type_t;

typedef struct {
  uint8_t *data;
  uint32_t pages, max_pages, page_size, size;
  bool is64;
} wasm_rt_memory_t;

typedef const char *wasm_rt_func_type_t;
typedef void (*wasm_rt_function_ptr_t)(void);
typedef struct wasm_rt_tailcallee_t {
  void (*fn)(void **, void *, struct wasm_rt_tailcallee_t *);
} wasm_rt_tailcallee_t;
typedef struct {
  wasm_rt_func_type_t func_type;
  wasm_rt_function_ptr_t func;
  wasm_rt_tailcallee_t func_tailcallee;
  void *module_instance;
} wasm_rt_funcref_t;
typedef void *wasm_rt_externref_t;
typedef struct { wasm_rt_funcref_t *data; uint32_t max_size, size; } wasm_rt_funcref_table_t;
typedef struct { wasm_rt_externref_t *data; uint32_t max_size, size; } wasm_rt_externref_table_t;

static const wasm_rt_funcref_t wasm_rt_funcref_null_value = {0};
static const wasm_rt_externref_t wasm_rt_externref_null_value = 0;

_Noreturn void wasm_rt_trap(wasm_rt_trap_t reason);
bool wasm_rt_is_initialized(void);
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t max, bool is64, uint32_t page);
void wasm_rt_free_memory(wasm_rt_memory_t *memory);

#endif

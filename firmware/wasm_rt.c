#include "wasm-rt.h"
#include "layout.h"
#include "wasm-memory.h"

#define PAGE_bytes 65536u
_Static_assert(LAYOUT_MEMORY_bytes % PAGE_bytes == 0, "the module's memory is whole pages");

__attribute__((section(".module_memory"), aligned(8))) uint8_t module_memory[LAYOUT_MEMORY_bytes + WASM_PAD_bytes];

bool wasm_rt_is_initialized(void) { return true; }

void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t max_pages, bool is64, uint32_t page_size) {
  if (pages * page_size != LAYOUT_MEMORY_bytes || max_pages != pages || is64) wasm_rt_trap(WASM_RT_TRAP_UNREACHABLE);
  memset(module_memory, 0, sizeof module_memory);
  memory->data = module_memory;
  memory->pages = memory->max_pages = (uint32_t)pages;
  memory->page_size = page_size;
  memory->size = LAYOUT_MEMORY_bytes;
  memory->is64 = false;
}

void wasm_rt_free_memory(wasm_rt_memory_t *memory) { memory->size = 0; }

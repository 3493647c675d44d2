/*
 * Solves evidence blocks with the module's own code, compiled by gcc, and says how long that took.
 *
 *   driver FILE EVIDENCE EVIDENCE_bytes RESULT RESULT_bytes ROUNDS
 *
 * FILE holds whole evidence blocks one after another. Printed: nanoseconds for each solve, and an FNV-1a hash over the
 * result blocks, so that a wrong answer cannot pass for a fast one. wasm2c's runtime is declared by firmware/wasm-rt.h.
 */
#define _POSIX_C_SOURCE 200809L
#include <stdio.h>
#include <stdlib.h>
#include <time.h>
#include "logic.h"

struct w2c_board { int unused; };

/* The module only solves here: none of its commands to the board may come. */
static void never(const char *command) {
  fprintf(stderr, "solve() gave the board a command: %s\n", command);
  exit(70);
}
void w2c_board_switches(struct w2c_board *b, u32 word) { (void)b; (void)word; never("switches"); }
void w2c_board_drive(struct w2c_board *b, u32 current) { (void)b; (void)current; never("drive"); }
void w2c_board_convert(struct w2c_board *b, u32 input, u32 rate) { (void)b; (void)input; (void)rate; never("convert"); }
void w2c_board_burst(struct w2c_board *b, u32 n, u32 lead, u32 word) {
  (void)b; (void)n; (void)lead; (void)word;
  never("burst");
}
void w2c_board_listen(struct w2c_board *b, u32 on) { (void)b; (void)on; never("listen"); }
void w2c_board_wake(struct w2c_board *b, u32 delay) { (void)b; (void)delay; never("wake"); }
void w2c_board_light(struct w2c_board *b, u32 pattern) { (void)b; (void)pattern; never("light"); }
u32 w2c_board_send(struct w2c_board *b) { (void)b; never("send"); return 0; }
u32 w2c_board_store(struct w2c_board *b) { (void)b; never("store"); return 0; }
u32 w2c_board_wand(struct w2c_board *b) { (void)b; never("wand"); return 0; }

_Noreturn void wasm_rt_trap(wasm_rt_trap_t reason) {
  fprintf(stderr, "trap %d\n", (int)reason);
  exit(70);
}
bool wasm_rt_is_initialized(void) { return true; }
void wasm_rt_allocate_memory(wasm_rt_memory_t *memory, uint64_t pages, uint64_t max, bool is64, uint32_t page) {
  memory->size = (uint32_t)(pages * page);
  memory->data = calloc(1, memory->size);
  memory->pages = (uint32_t)pages;
  memory->max_pages = (uint32_t)max;
  memory->page_size = page;
  memory->is64 = is64;
}
void wasm_rt_free_memory(wasm_rt_memory_t *memory) { free(memory->data); }

int main(int count, char **arguments) {
  if (count != 7) return 64;
  const u32 evidence = (u32)atoi(arguments[2]), evidence_bytes = (u32)atoi(arguments[3]);
  const u32 result = (u32)atoi(arguments[4]), result_bytes = (u32)atoi(arguments[5]);
  const int rounds = atoi(arguments[6]);
  FILE *file = fopen(arguments[1], "rb");
  if (file == NULL) return 66;
  fseek(file, 0, SEEK_END);
  const long blocks = ftell(file) / (long)evidence_bytes;
  rewind(file);
  uint8_t *all = malloc((size_t)blocks * evidence_bytes);
  if (fread(all, evidence_bytes, (size_t)blocks, file) != (size_t)blocks) return 65;
  fclose(file);

  static w2c_logic logic;
  struct w2c_board board = {0};
  /* Whether the module imports commands decides the number of arguments; a second one too many does no harm here. */
  ((void (*)(w2c_logic *, struct w2c_board *))(void (*)(void))wasm2c_logic_instantiate)(&logic, &board);
  uint8_t *memory = w2c_logic_memory(&logic)->data;
  double best_ns = 1e300;
  for (int round = 0; round < rounds; round++) {
    struct timespec start, end;
    clock_gettime(CLOCK_MONOTONIC, &start);
    for (long i = 0; i < blocks; i++) {
      memcpy(memory + evidence, all + (size_t)i * evidence_bytes, evidence_bytes);
      w2c_logic_solve(&logic);
    }
    clock_gettime(CLOCK_MONOTONIC, &end);
    const double ns = (double)(end.tv_sec - start.tv_sec) * 1e9 + (double)(end.tv_nsec - start.tv_nsec);
    if (ns < best_ns) best_ns = ns;
  }
  uint32_t hash = 0x811c9dc5u;
  for (long i = 0; i < blocks; i++) {
    memcpy(memory + evidence, all + (size_t)i * evidence_bytes, evidence_bytes);
    w2c_logic_solve(&logic);
    for (u32 k = 0; k < result_bytes; k++) hash = (hash ^ memory[result + k]) * 0x01000193u;
  }
  printf("%.1f %u\n", best_ns / (double)blocks, hash);
  return 0;
}

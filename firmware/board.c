#include <stddef.h>
#include "board.h"
#include "failsafe.h"
#include "layout.h"
#include "logic.h"
#include "module_hash.h"
#include "stack.h"
#include "drivers/capture.h"
#include "drivers/converter.h"
#include "drivers/identity.h"
#include "drivers/panel.h"
#include "drivers/switches.h"
#include "drivers/timer.h"
#include "drivers/usb.h"
#include "drivers/usb_descriptors.h"

_Static_assert(STATUS_OK == LAYOUT_Status_ok && STATUS_SILENT == LAYOUT_Status_silent && STATUS_BAD == LAYOUT_Status_bad &&
               STATUS_OVERRANGE == LAYOUT_Status_overrange && STATUS_OVERRUN == LAYOUT_Status_overrun, "Status");
_Static_assert(CONVERTER_WELL == LAYOUT_ConverterFault_none && CONVERTER_NOT_READY == LAYOUT_ConverterFault_notReady &&
               CONVERTER_OTHER_PART == LAYOUT_ConverterFault_otherPart && CONVERTER_NOT_SET == LAYOUT_ConverterFault_notSet &&
               CONVERTER_SILENT == LAYOUT_ConverterFault_silent && CONVERTER_DISTURBED == LAYOUT_ConverterFault_disturbed, "ConverterFault");
_Static_assert(CALIBRATED_GOOD == LAYOUT_Calibrated_good && CALIBRATED_MISSING == LAYOUT_Calibrated_missing &&
               CALIBRATED_CORRUPT == LAYOUT_Calibrated_corrupt, "Calibrated");
_Static_assert(LINK_DETACHED == LAYOUT_Link_detached && LINK_ATTACHED == LAYOUT_Link_attached &&
               LINK_SUSPENDED == LAYOUT_Link_suspended, "Link");
_Static_assert(LIGHT_OFF == LAYOUT_Light_off && LIGHT_READY == LAYOUT_Light_ready && LIGHT_BUSY == LAYOUT_Light_busy &&
               LIGHT_TOUCH == LAYOUT_Light_touch && LIGHT_LIFT == LAYOUT_Light_lift && LIGHT_MAGNET == LAYOUT_Light_magnet &&
               LIGHT_GOOD == LAYOUT_Light_good && LIGHT_FAULT == LAYOUT_Light_fault && LIGHT_UNSURE == LAYOUT_Light_unsure &&
               LIGHT_TRAP == LAYOUT_Light_trap && LIGHT_WAITING == LAYOUT_Light_waiting, "Light");
_Static_assert(BUTTON_PRESS == LAYOUT_Button_press && BUTTON_LONG == LAYOUT_Button_long, "Button");
_Static_assert(LISTEN_BLOCK == LAYOUT_LISTEN_BLOCK, "samples in a block of listening");
_Static_assert(sizeof(struct calibration) == LAYOUT_CALIBRATION_bytes, "bytes of a calibration");
#define AT(member, field) _Static_assert(offsetof(struct calibration, member) == LAYOUT_Calibration_##field, #member)
AT(magic, magic); AT(version, version); AT(writes, writes); AT(date, date); AT(serial, serialLow);
AT(reference_ohm, reference_ohm); AT(reference_u, reference_u); AT(wand_T_per_V, wand_T_per_V); AT(step_V, step_V);
AT(code_V, code_V); AT(temperature_V25, temperature_V25); AT(temperature_V_per_K, temperature_V_per_K);
AT(zero_ohm, zero1_ohm); AT(zero_u_ohm, zero_u_ohm); AT(fixture_F, fixture1_F); AT(fixture_u_F, fixture_u_F);
AT(wide_codes, wide1); AT(days, ohmDay); AT(crc32, crc32);
#undef AT
_Static_assert(USB_REPORT_bytes == LAYOUT_REPORT_bytes, "bytes of a report");

/** A main loop that is this late is stuck: the current goes off now, the watchdog bites later. */
#define STUCK_us 3000000u
_Static_assert(STUCK_us < WATCHDOG_PERIOD_us, "first the current, then the restart");

struct w2c_board { bool switches_lost; };

static struct w2c_board board;
static w2c_logic logic;
static volatile uint32_t alive_us;
static volatile bool rails_lost;

_Noreturn void wasm_rt_trap(wasm_rt_trap_t trap) {
  failsafe_restart(trap == WASM_RT_TRAP_EXHAUSTION ? RESET_STACK : RESET_TRAP, trap);
}

void board_alive(void) {
  alive_us = timer_now_us();
  if (!stack_guard_is_whole()) failsafe_restart(RESET_STACK, 0);
}

void board_tick(void) {
  if (!stack_guard_is_whole()) failsafe_restart(RESET_STACK, 0);
  if (timer_now_us() - alive_us > STUCK_us) {
    failsafe_off();
    return;      /* not fed: the watchdog restarts us, and its own reason is the right one */
  }
  if (!panel_rails_good() && !rails_lost) {
    rails_lost = true;
    converter_kill();
    switches_kill();
  }
  converter_tick();
  usb_tick();
  panel_tick();
}

/** Whether readings mean anything: rails up, switches where they were asked to be. */
static bool front_end_is_sound(void) {
  if (rails_lost && panel_rails_good()) rails_lost = false;
  return !rails_lost && !board.switches_lost;
}

/* The commands: shared-logic/assembly/board.ts says what each must do. */

void w2c_board_switches(struct w2c_board *self, u32 word) {
  if (converter_current_nA() != 0) (void)converter_drive(0);      /* never switched under current */
  if (rails_lost && !panel_rails_good()) return;
  self->switches_lost = !switches_set(word);
}

void w2c_board_drive(struct w2c_board *self, u32 current_nA) {
  (void)self;
  if (current_nA != 0 && !front_end_is_sound()) current_nA = 0;
  (void)converter_drive(current_nA);
}

void w2c_board_convert(struct w2c_board *self, u32 input, u32 rate) {
  (void)self;
  /* An input that no converter has answers with Status.bad: what the front end would say is not to be trusted. */
  converter_convert(front_end_is_sound() ? input : UINT32_MAX, rate);
}

void w2c_board_burst(struct w2c_board *self, u32 count, u32 lead, u32 step_word) {
  const bool x1 = (lead & LAYOUT_BURST_X1) != 0;
  lead &= ~(uint32_t)LAYOUT_BURST_X1;
  if (count == 0 || count > LAYOUT_BURST_SAMPLES || lead >= count) wasm_rt_trap(WASM_RT_TRAP_UNREACHABLE);
  const bool step = step_word != switches_word();
  capture_stop();
  if (!front_end_is_sound() || (step && !switches_load(step_word))) {
    if (front_end_is_sound()) switches_kill(), self->switches_lost = true;
    events_push(EVENT_BURST, STATUS_BAD);
    return;
  }
  uint8_t *memory = logic.w2c_memory.data;
  capture_burst((int32_t *)(memory + LAYOUT_BURST_A), (int32_t *)(memory + LAYOUT_BURST_B), count, step ? lead : UINT32_MAX, x1);
}

void w2c_board_listen(struct w2c_board *self, u32 on) {
  (void)self;
  if (on) capture_listen();
  else capture_stop();
}

void w2c_board_wake(struct w2c_board *self, u32 delay_us) {
  (void)self;
  timer_wake(delay_us);
}

void w2c_board_light(struct w2c_board *self, u32 pattern) {
  (void)self;
  panel_light(pattern);
}

u32 w2c_board_send(struct w2c_board *self) {
  (void)self;
  return usb_send(logic.w2c_memory.data + LAYOUT_REPORT_OUT);
}

u32 w2c_board_wand(struct w2c_board *self) {
  (void)self;
  return panel_wand_present();
}

static void put_f32(uint32_t address, float value) { memcpy(logic.w2c_memory.data + address, &value, sizeof value); }

/** Puts what the calibration says where the module reads it. */
static void tell_calibration(void) {
  uint8_t *memory = logic.w2c_memory.data;
  put_f32(LAYOUT_BOARD + LAYOUT_Board_reference_ohm, identity.reference_ohm);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_reference_u, identity.reference_u);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_wand_T_per_V, identity.wand_T_per_V);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_step_V, identity.step_V);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_code_V, identity.code_V);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_temperature_V25, identity.temperature_V25);
  put_f32(LAYOUT_BOARD + LAYOUT_Board_temperature_V_per_K, identity.temperature_V_per_K);
  memory[LAYOUT_BOARD_STATE + LAYOUT_BoardState_calibrated] = (uint8_t)identity_calibrated;
  memcpy(memory + LAYOUT_BOARD + LAYOUT_Board_serialLow, identity.serial, sizeof identity.serial);
  memcpy(memory + LAYOUT_CALIBRATION, &identity, sizeof identity);
}

static void fill_board_block(enum reset_reason reason) {
  uint8_t *memory = logic.w2c_memory.data;
  tell_calibration();
  memory[LAYOUT_BOARD + LAYOUT_Board_resetReason] = (uint8_t)reason;
  memory[LAYOUT_BOARD + LAYOUT_Board_firmwareMajor] = FIRMWARE_MAJOR;
  memory[LAYOUT_BOARD + LAYOUT_Board_firmwareMinor] = FIRMWARE_MINOR;
  memory[LAYOUT_BOARD + LAYOUT_Board_firmwarePatch] = FIRMWARE_PATCH;
  memcpy(memory + LAYOUT_BOARD + LAYOUT_Board_hash0, module_sha256, sizeof module_sha256);
}

u32 w2c_board_store(struct w2c_board *self) {
  (void)self;
  struct calibration page;
  memcpy(&page, logic.w2c_memory.data + LAYOUT_CALIBRATION_NEW, sizeof page);
  if (converter_current_nA() != 0) (void)converter_drive(0);      /* nobody watches it meanwhile */
  capture_stop();
  const bool stored = identity_store(&page);
  if (stored) tell_calibration();
  return stored;
}

#define RAILS_UP_us 20000u

void board_start(enum reset_reason reason) {
  panel_start();
  alive_us = timer_now_us();
  timer_start(board_tick);
  board.switches_lost = !switches_start();
  timer_sleep_us(RAILS_UP_us);
  rails_lost = !panel_rails_good();
  if (!rails_lost) (void)converter_start();      /* one that fails is started anew by the first conversion */
  capture_start();
  identity_read();
  wasm2c_logic_instantiate(&logic, &board);
  fill_board_block(reason);
  board_alive();
  w2c_logic_start(&logic);
  usb_start();
}

void board_event(const struct event *event) {
  uint8_t *memory = logic.w2c_memory.data;
  switch ((enum event_kind)event->kind) {
    case EVENT_BUTTON:
      w2c_logic_onButton(&logic, event->value);
      break;
    case EVENT_CONVERTER: {
      int32_t code;
      uint32_t status;
      if (!converter_finish(event->value, &code, &status)) break;
      memory[LAYOUT_BOARD_STATE + LAYOUT_BoardState_converterFault] = (uint8_t)converter_last_fault();
      w2c_logic_onConversion(&logic, (u32)code, status);
      break;
    }
    case EVENT_BURST:
      w2c_logic_onBurst(&logic, event->value);
      break;
    case EVENT_SAMPLES: {
      uint32_t status = event->value;
      if (status == STATUS_OK) status = capture_take_block((int32_t *)(memory + LAYOUT_LISTEN));
      if (!front_end_is_sound()) status = STATUS_BAD;
      w2c_logic_onSamples(&logic, status);
      break;
    }
    case EVENT_TIME:
      if (timer_is_current(event->value)) w2c_logic_onTime(&logic);
      break;
    case EVENT_REPORT: {
      const uint32_t length = usb_take_report(memory + LAYOUT_REPORT_IN);
      w2c_logic_onReport(&logic, length);
      break;
    }
    case EVENT_REPORT_SENT:
      w2c_logic_onReportSent(&logic);
      break;
    case EVENT_LINK:
      w2c_logic_onLink(&logic, event->value);
      break;
    case EVENT_KINDS:
      break;
  }
}

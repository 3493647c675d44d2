#include "converter.h"
#include "events.h"
#include "gpio.h"
#include "pins.h"
#include "spi.h"
#include "timer.h"
#include "../registers/nvic.h"

/* Commands and registers: ADS124S08 data sheet SBAS660C, 9.5.3 and 9.6. */
#define COMMAND_RDATA 0x12u
#define COMMAND_RREG(address) (0x20u | (address))
#define COMMAND_WREG(address) (0x40u | (address))
enum { REG_ID, REG_STATUS, REG_INPMUX, REG_PGA, REG_DATARATE, REG_REF, REG_IDACMAG, REG_IDACMUX, REG_VBIAS, REG_SYS, REG_OFCAL0,
       REG_FSCAL2 = 15, REGISTERS };

#define ID_DEV_MASK 7u                    /* 0 = ADS124S08 */
#define STATUS_FL_POR 0x80u
#define STATUS_NRDY 0x40u
#define PGA_BYPASSED_GAIN_1 0x00u
#define DATARATE_SINGLE_SHOT_LOW_LATENCY 0x30u
#define DATARATE_20_SPS 0x04u
#define DATARATE_400_SPS 0x09u
#define REF_UNBUFFERED_INTERNAL_ALWAYS_ON 0x3au
#define IDACMUX_BOTH_OFF 0xffu
#define IDACMUX_I1(ain) (0xf0u | (ain))
#define SYS_CRC_AND_STATUS 0x13u          /* CAL_SAMP at its reset value, CRC, SENDSTAT */

#define TRIES 3
#define RESET_PULSE_us 4u                 /* 4 clocks of 4.096 MHz at least */
/**
 * The part hears nothing for 4096 clocks after a reset (1 ms at 4.096 MHz, data sheet 9.4.1.2) and up to 2.2 ms after its supply came;
 * then its ready bit tells. It is asked every 200 us; silence or a line that is stuck looks like "not ready" too.
 */
#define READY_POLL_us 200u
#define READY_POLLS 100u
#define REFERENCE_SETTLE_us 8000u         /* 1 uF on REFOUT: 5.9 ms to 10 ppm (data sheet SBAS660C, Table 10) */
/** First result of the low-latency filter after START: 14465 and 680 periods of 256 kHz (data sheet SBAS660C, 9.3.6.1.2). */
static const uint32_t latency_us[2] = { 56504, 2657 };
#define SILENT_AFTER_LATENCIES 3u

/** Upper half of EVENT_CONVERTER's value. */
#define OUTCOME_READY 0u
#define OUTCOME_SILENT 1u
#define OUTCOME_BAD 2u

/** INPMUX of each `Input`; the rails come halved. */
static const uint8_t input_mux[] = {
  AIN_PORT_PLUS << 4 | AIN_PORT_MINUS, AIN_WAND << 4 | AIN_WAND_HALF, AIN_THERMISTOR << 4 | AIN_COMMON,
  AIN_RAIL_POSITIVE << 4 | AIN_COMMON, AIN_RAIL_NEGATIVE << 4 | AIN_COMMON,
};
#define INPUT_COUNT (sizeof input_mux)

static bool configured;
static enum converter_fault last_fault;
/** A failure switched the current off behind the logic's back: no reading counts until it asks for a current again. */
static bool current_lost;
static uint32_t current_nA;
/** An answer is owed; the part converts, and the tick looks at the deadline. */
static bool awaited;
static volatile bool converting;
static volatile uint32_t conversion_number, deadline_us;

/**
 * What the registers must hold, from INPMUX on; offset and full scale stay as reset leaves them (data sheet
 * 9.6.1). A write whose address was disturbed changes another register than the one that is read back, so
 * every result is believed only together with all of them.
 */
static uint8_t wanted[REGISTERS] = { [REG_FSCAL2] = 0x40 };
#define READ_AT_ONCE 5u

/** One chip select, up to 8 bytes. */
static bool frame(const uint8_t *out, uint8_t *in, uint32_t count) {
  uint16_t words_out[8] = { 0 }, words_in[8] = { 0 };
  for (uint32_t i = 0; i < count; i++) words_out[i] = out[i];
  gpio_write(PIN_CONVERTER_CS, false);
  const bool done = spi_exchange(SPI0, words_out, words_in, count);
  gpio_write(PIN_CONVERTER_CS, true);
  for (uint32_t i = 0; i < count; i++) in[i] = (uint8_t)words_in[i];
  return done;
}

static bool read_registers(uint32_t address, uint8_t *values, uint32_t count) {
  uint8_t out[8] = { (uint8_t)COMMAND_RREG(address), (uint8_t)(count - 1) }, in[8] = { 0 };
  if (!frame(out, in, count + 2)) return false;
  for (uint32_t i = 0; i < count; i++) values[i] = in[i + 2];
  return true;
}

/** Writes registers and believes only what it reads back: the part has no check of its own on writes. */
static bool write_registers(uint32_t address, const uint8_t *values, uint32_t count) {
  for (int attempt = 0; attempt < TRIES; attempt++) {
    uint8_t out[8] = { (uint8_t)COMMAND_WREG(address), (uint8_t)(count - 1) }, in[8] = { 0 }, back[6] = { 0 };
    for (uint32_t i = 0; i < count; i++) out[i + 2] = values[i];
    if (!frame(out, in, count + 2) || !read_registers(address, back, count)) continue;
    uint32_t wrong = 0;
    for (uint32_t i = 0; i < count; i++) {
      wrong |= back[i] ^ values[i];
      wanted[address + i] = values[i];
    }
    if (wrong == 0) return true;
  }
  return false;
}

void converter_kill(void) { gpio_write(PIN_CONVERTER_RESET, false); }

static bool fail(enum converter_fault fault) {
  converter_kill();
  configured = false;
  last_fault = fault;
  current_lost = current_lost || current_nA != 0;
  current_nA = 0;
  return false;
}

enum converter_fault converter_last_fault(void) { return last_fault; }

/** After a reset the part tells that it was reset and, from some moment on, that it is ready. */
static bool becomes_ready(void) {
  for (uint32_t polls = 0; polls < READY_POLLS; polls++) {
    timer_sleep_us(READY_POLL_us);
    uint8_t status;
    if (read_registers(REG_STATUS, &status, 1) && (status & (STATUS_FL_POR | STATUS_NRDY)) == STATUS_FL_POR) return true;
  }
  return false;
}

bool converter_start(void) {
  gpio_output(PIN_CONVERTER_CS, true);
  gpio_output(PIN_CONVERTER_START, false);
  gpio_output(PIN_CONVERTER_RESET, false);
  gpio_input(PIN_CONVERTER_DRDY, PAD_PULL_UP);
  gpio_function(PIN_CONVERTER_SCK, GPIO_FUNC_SPI, PAD_DRIVE_4MA);
  gpio_function(PIN_CONVERTER_MOSI, GPIO_FUNC_SPI, PAD_DRIVE_4MA);
  gpio_function(PIN_CONVERTER_MISO, GPIO_FUNC_SPI, PAD_INPUT_ENABLE | PAD_SCHMITT | PAD_PULL_DOWN);
  spi_start(SPI0, 13, 8, true);      /* 4.8 MHz, mode 1; the part takes 10 */
  current_nA = 0;
  timer_spin_us(RESET_PULSE_us);
  gpio_write(PIN_CONVERTER_RESET, true);
  if (!becomes_ready()) return fail(CONVERTER_NOT_READY);

  uint8_t id;
  if (!read_registers(REG_ID, &id, 1) || (id & ID_DEV_MASK) != 0) return fail(CONVERTER_OTHER_PART);
  static const uint8_t no_flags[1] = { 0 };
  static const uint8_t reference_and_currents[3] = { REF_UNBUFFERED_INTERNAL_ALWAYS_ON, 0, IDACMUX_BOTH_OFF };
  static const uint8_t system[1] = { SYS_CRC_AND_STATUS };
  if (!write_registers(REG_STATUS, no_flags, 1)) return fail(CONVERTER_NOT_SET);
  if (!write_registers(REG_REF, reference_and_currents, 3)) return fail(CONVERTER_NOT_SET);
  if (!write_registers(REG_SYS, system, 1)) return fail(CONVERTER_NOT_SET);
  timer_sleep_us(REFERENCE_SETTLE_us);

  IO_BANK0->intr[PIN_CONVERTER_DRDY / 8] = GPIO_INT_EDGE_LOW(PIN_CONVERTER_DRDY);
  register_set(&IO_BANK0->proc0_inte[PIN_CONVERTER_DRDY / 8], GPIO_INT_EDGE_LOW(PIN_CONVERTER_DRDY));
  nvic_enable(IRQ_IO_BANK0, 2);
  configured = true;
  return true;
}

uint32_t converter_current_nA(void) { return current_nA; }

bool converter_drive(uint32_t wanted_nA) {
  static const struct { uint32_t nA; uint8_t imag; } ranges[] = {
    { 0, 0 }, { 10000, 1 }, { 50000, 2 }, { 100000, 3 }, { 250000, 4 },
  };
  if (!configured) {
    if (wanted_nA == 0) return converter_kill(), current_lost = false, true;
    if (!converter_start()) return false;
  }
  for (uint32_t i = 0; i < sizeof ranges / sizeof ranges[0]; i++) {
    if (ranges[i].nA != wanted_nA) continue;
    const uint8_t values[2] = { ranges[i].imag, wanted_nA ? IDACMUX_I1(AIN_CURRENT_OUT) : IDACMUX_BOTH_OFF };
    if (!write_registers(REG_IDACMAG, values, 2)) {
      current_lost = wanted_nA != 0;
      return fail(CONVERTER_NOT_SET);
    }
    current_nA = wanted_nA;
    current_lost = false;
    return true;
  }
  return false;
}

static void finish_with(uint32_t number, uint32_t outcome) {
  events_push(EVENT_CONVERTER, (number & 0xffffu) | outcome << 16);
}

void converter_convert(uint32_t input, uint32_t rate) {
  events_forget(EVENT_CONVERTER);
  gpio_write(PIN_CONVERTER_START, false);
  const uint32_t number = ++conversion_number & 0xffffu;
  converting = false;
  awaited = true;
  if (input >= INPUT_COUNT || current_lost || (!configured && !converter_start())) {
    finish_with(number, OUTCOME_BAD);
    return;
  }
  const uint8_t values[3] = {
    input_mux[input], PGA_BYPASSED_GAIN_1,
    (uint8_t)(DATARATE_SINGLE_SHOT_LOW_LATENCY | (rate ? DATARATE_400_SPS : DATARATE_20_SPS)),
  };
  if (!write_registers(REG_INPMUX, values, 3)) {
    fail(CONVERTER_NOT_SET);
    finish_with(number, OUTCOME_BAD);
    return;
  }
  /* A conversion that was given up may end at any moment up to START: its edge is not this one's. */
  const uint32_t primask = interrupts_off();
  deadline_us = timer_now_us() + SILENT_AFTER_LATENCIES * latency_us[rate & 1u];
  gpio_write(PIN_CONVERTER_START, true);
  IO_BANK0->intr[PIN_CONVERTER_DRDY / 8] = GPIO_INT_EDGE_LOW(PIN_CONVERTER_DRDY);
  converting = true;
  interrupts_restore(primask);
}

void converter_drdy_isr(void) {
  IO_BANK0->intr[PIN_CONVERTER_DRDY / 8] = GPIO_INT_EDGE_LOW(PIN_CONVERTER_DRDY);
  if (!converting) return;
  converting = false;
  finish_with(conversion_number, OUTCOME_READY);
}

void converter_tick(void) {
  if (converting && (int32_t)(timer_now_us() - deadline_us) >= 0) {
    converting = false;      /* told once, even when the main loop is late */
    finish_with(conversion_number, OUTCOME_SILENT);
  }
}

/** CRC-8, polynomial x^8 + x^2 + x + 1, start 0 (data sheet 9.5.4.3). */
static uint8_t crc8(const uint8_t *bytes, uint32_t count) {
  uint8_t crc = 0;
  for (uint32_t i = 0; i < count; i++) {
    crc ^= bytes[i];
    for (int bit = 0; bit < 8; bit++) crc = (uint8_t)(crc << 1 ^ (crc & 0x80u ? 0x07 : 0));
  }
  return crc;
}

/** A read that was disturbed is no sign of a wrong register: three must differ. */
static bool are_wanted(uint32_t address, uint32_t count) {
  for (int attempt = 0; attempt < TRIES; attempt++) {
    uint8_t back[READ_AT_ONCE] = { 0 };
    if (!read_registers(address, back, count)) continue;
    uint32_t wrong = 0;
    for (uint32_t i = 0; i < count; i++) wrong |= back[i] ^ wanted[address + i];
    if (wrong == 0) return true;
  }
  return false;
}

static bool registers_are_wanted(void) {
  for (uint32_t address = REG_INPMUX; address < REGISTERS; address += READ_AT_ONCE) {
    if (!are_wanted(address, REGISTERS - address < READ_AT_ONCE ? REGISTERS - address : READ_AT_ONCE)) return false;
  }
  return true;
}

/** Reads result, status and check byte. @returns STATUS_OK or STATUS_BAD */
static uint32_t read_result(int32_t *code) {
  static const uint8_t out[6] = { COMMAND_RDATA };
  uint8_t in[6] = { 0 };
  if (!frame(out, in, 6)) return STATUS_BAD;
  /* A line stuck low gives all zeros, whose check byte is right: registers that are never 0 tell. */
  if (!registers_are_wanted()) return STATUS_BAD;
  if (crc8(&in[1], 4) != in[5]) return STATUS_BAD;
  if (in[1] & (STATUS_FL_POR | STATUS_NRDY)) return STATUS_BAD;
  *code = (int32_t)((uint32_t)in[2] << 24 | (uint32_t)in[3] << 16 | (uint32_t)in[4] << 8) >> 8;
  return STATUS_OK;
}

bool converter_finish(uint32_t event_value, int32_t *code, uint32_t *status) {
  if (!awaited || (event_value & 0xffffu) != (conversion_number & 0xffffu)) return false;
  awaited = false;
  gpio_write(PIN_CONVERTER_START, false);
  *code = 0;
  switch (event_value >> 16) {
    case OUTCOME_SILENT: *status = STATUS_SILENT; fail(CONVERTER_SILENT); return true;
    case OUTCOME_BAD: *status = STATUS_BAD; return true;
    default: break;
  }
  *status = STATUS_BAD;
  for (int attempt = 0; attempt < TRIES && *status == STATUS_BAD; attempt++) *status = read_result(code);
  if (*status == STATUS_BAD) {
    fail(CONVERTER_DISTURBED);      /* the next conversion resets and configures it anew */
  } else if (*code == 0x7fffff || *code == -0x800000) {
    *status = STATUS_OVERRANGE;
  }
  return true;
}

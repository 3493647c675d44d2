/**
 * USB device. Requests are answered in the interrupt and not in the main loop, because the logic may
 * compute for a third of a second and the standard gives 50 ms to some requests (USB 2.0, 9.2.6).
 *
 * Control transfers: a SETUP cancels whatever ran. IN data go out in packets of 64, ended by a short one
 * where the host asked for more; then the host's empty OUT is awaited. Requests without data are answered
 * by an empty IN. What we do not support is stalled until the next SETUP.
 *
 * Erratum RP2040-E5 (a bus reset that is never left on a busy bus) is not worked round: it affects
 * B0 and B1 (RP2040 data sheet, errata). Use B2, where it is mended (from memory, to be looked up before the board is
 * ordered).
 */
#include "usb.h"
#include "events.h"
#include "usb_descriptors.h"
#include "../registers/nvic.h"
#include "../registers/usb.h"

enum { GET_STATUS = 0, CLEAR_FEATURE = 1, SET_FEATURE = 3, SET_ADDRESS = 5, GET_DESCRIPTOR = 6, GET_CONFIGURATION = 8,
       SET_CONFIGURATION = 9, GET_INTERFACE = 10, SET_INTERFACE = 11 };
enum { HID_GET_REPORT = 1, HID_GET_IDLE = 2, HID_SET_IDLE = 0x0a };
#define FEATURE_ENDPOINT_HALT 0u
#define HID_REPORT_TYPE_INPUT 1u
#define PACKET_bytes 64u
#define BUFFER_IN_OFFSET 0x180u
#define BUFFER_OUT_OFFSET 0x1c0u
#define BUFFER_EP1_IN (&USB_DPRAM->buffers[0])
#define BUFFER_EP1_OUT (&USB_DPRAM->buffers[PACKET_bytes / 4])
/* One bit for each endpoint and direction, in BUFF_STATUS, EP_ABORT and EP_ABORT_DONE alike. */
#define BUFF_EP0_IN (1u << 0)
#define BUFF_EP0_OUT (1u << 1)
#define BUFF_EP1_IN (1u << 2)
#define BUFF_EP1_OUT (1u << 3)
/** A packet of 64 bytes takes 55 us on the bus, and that is how long an endpoint may be at work; this is some 200 us. */
#define ABORT_ROUNDS 3000u
/** Data sheet 4.1.2.5.1: AVAILABLE is set after the rest of the word has crossed to the USB clock, 48 MHz. */
#define CROSSING_CYCLES 12

struct setup { uint8_t type, request; uint16_t value, index, length; };

static uint8_t configured, address_to_set;
static bool suspended, in_halted, out_halted;
static uint32_t asleep_since_frame;
static volatile bool in_busy, out_waiting;
static bool in_pid, out_pid, control_pid;
static const uint8_t *control_next;
static uint32_t control_left;
static bool control_short, control_is_in;
static uint8_t control_bytes[PACKET_bytes];
static uint8_t last_report[USB_REPORT_bytes];

static void copy_to_dpram(io_rw32 *target, const uint8_t *source, uint32_t count) {
  volatile uint8_t *to = (volatile uint8_t *)target;
  for (uint32_t i = 0; i < count; i++) to[i] = source[i];
}

static void give_buffer(io_rw32 *control, uint32_t word) {
  *control = word;
  for (int i = 0; i < CROSSING_CYCLES / 3; i++) __asm volatile("nop");
  *control = word | USB_BUF_AVAILABLE;
}

static void arm_in(io_rw32 *control, bool *pid, uint32_t count) {
  give_buffer(control, USB_BUF_FULL | (*pid ? USB_BUF_DATA1 : 0) | count);
  *pid = !*pid;
}

static void arm_out(io_rw32 *control, bool *pid, uint32_t count) {
  give_buffer(control, (*pid ? USB_BUF_DATA1 : 0) | count);
  *pid = !*pid;
}

/**
 * Takes a buffer back that the controller may be using at this moment, and gives its control word another value: data sheet 4.1.2.5
 * and the text of EP_ABORT. The endpoint answers NAK meanwhile. (B0 and B1 never clear the abort, erratum RP2040-E2: use B2.)
 */
static void take_back(io_rw32 *control, uint32_t bit, uint32_t word) {
  if (!(*control & USB_BUF_AVAILABLE)) {
    *control = word;
    return;
  }
  register_set(&USB->ep_abort, bit);
  for (uint32_t rounds = ABORT_ROUNDS; rounds > 0 && !(USB->ep_abort_done & bit); rounds--) {}
  *control = word;
  USB->ep_abort_done = bit;
  register_clear(&USB->ep_abort, bit);
}

static void control_send_packet(void) {
  const uint32_t count = control_left < PACKET_bytes ? control_left : PACKET_bytes;
  copy_to_dpram(USB_DPRAM->ep0_buffer, control_next, count);
  control_next += count;
  control_left -= count;
  if (count < PACKET_bytes) control_short = false;
  arm_in(&USB_DPRAM->buf_ctrl[0].in, &control_pid, count);
}

/** Starts the data stage; a last packet of exactly 64 bytes is followed by an empty one if the host wants more. */
static void control_answer(const struct setup *setup, const uint8_t *bytes, uint32_t count) {
  control_is_in = true;
  control_short = count < setup->length;
  control_next = bytes;
  control_left = count < setup->length ? count : setup->length;
  control_send_packet();
}

static void control_acknowledge(void) {
  control_is_in = false;
  control_short = false;
  control_left = 0;
  arm_in(&USB_DPRAM->buf_ctrl[0].in, &control_pid, 0);
}

static void control_stall(void) {
  register_set(&USB->ep_stall_arm, USB_STALL_ARM_EP0_IN | USB_STALL_ARM_EP0_OUT);
  USB_DPRAM->buf_ctrl[0].in = USB_BUF_STALL;
  USB_DPRAM->buf_ctrl[0].out = USB_BUF_STALL;
}

static void tell_link(void) {
  events_push(EVENT_LINK, !configured ? LINK_DETACHED : suspended ? LINK_SUSPENDED : LINK_ATTACHED);
}

/** The bus sleeps or is awake: the logic hears of it when it changes. */
static void set_suspended(bool now) {
  if (suspended == now) return;
  suspended = now;
  asleep_since_frame = USB->sof_rd & USB_SOF_RD_COUNT_MASK;
  tell_link();
}

/** Drops reports under way, both directions. */
static void endpoints_clear(void) {
  take_back(&USB_DPRAM->buf_ctrl[1].in, BUFF_EP1_IN, 0);
  take_back(&USB_DPRAM->buf_ctrl[1].out, BUFF_EP1_OUT, 0);
  in_busy = out_waiting = in_halted = out_halted = false;
  in_pid = out_pid = false;
  events_forget(EVENT_REPORT);
  events_forget(EVENT_REPORT_SENT);
}

static void set_configuration(uint8_t value) {
  endpoints_clear();
  configured = value;
  USB_DPRAM->ep_ctrl[0].in = value ? USB_EP_CTRL_ENABLE | USB_EP_CTRL_INT_1BUF | USB_EP_CTRL_TYPE_INTERRUPT | BUFFER_IN_OFFSET : 0;
  USB_DPRAM->ep_ctrl[0].out = value ? USB_EP_CTRL_ENABLE | USB_EP_CTRL_INT_1BUF | USB_EP_CTRL_TYPE_INTERRUPT | BUFFER_OUT_OFFSET : 0;
  if (value) arm_out(&USB_DPRAM->buf_ctrl[1].out, &out_pid, PACKET_bytes);
  tell_link();
}

static bool *halt_of(uint32_t endpoint) {
  if (!configured) return 0;
  return endpoint == 0x81u ? &in_halted : endpoint == 0x01u ? &out_halted : 0;
}

static void set_halt(uint32_t endpoint, bool halted) {
  const bool in = endpoint == 0x81u;
  io_rw32 *control = in ? &USB_DPRAM->buf_ctrl[1].in : &USB_DPRAM->buf_ctrl[1].out;
  const bool was_halted = *halt_of(endpoint);
  *halt_of(endpoint) = halted;
  take_back(control, in ? BUFF_EP1_IN : BUFF_EP1_OUT, halted ? USB_BUF_STALL : 0);
  if (in) {
    in_pid = false;
    /* A report that lay there is dropped; its number tells the host. One that was refused since is asked for again. */
    if (in_busy || (was_halted && !halted)) events_push(EVENT_REPORT_SENT, 0);
    in_busy = false;
  } else {
    out_pid = false;
    if (!halted && !out_waiting) arm_out(control, &out_pid, PACKET_bytes);
  }
}

static bool standard_device(const struct setup *setup) {
  const uint8_t *bytes;
  switch (setup->request) {
    case GET_STATUS:
      if (setup->value != 0 || setup->index != 0 || setup->length != 2) return false;
      control_bytes[0] = control_bytes[1] = 0;           /* bus powered, no remote wake-up */
      control_answer(setup, control_bytes, 2);
      return true;
    case SET_ADDRESS:
      if (setup->value > 127 || setup->index != 0 || setup->length != 0) return false;
      address_to_set = (uint8_t)setup->value | 0x80u;    /* takes effect after the status stage */
      control_acknowledge();
      return true;
    case GET_DESCRIPTOR: {
      const uint32_t type = setup->value >> 8;
      if (type != DESCRIPTOR_DEVICE && type != DESCRIPTOR_CONFIGURATION && type != DESCRIPTOR_STRING) return false;
      const uint32_t count = usb_descriptor(type, setup->value & 0xffu, &bytes);
      if (count == 0) return false;
      control_answer(setup, bytes, count);
      return true;
    }
    case GET_CONFIGURATION:
      if (setup->value != 0 || setup->index != 0 || setup->length != 1) return false;
      control_bytes[0] = configured;
      control_answer(setup, control_bytes, 1);
      return true;
    case SET_CONFIGURATION:
      if (setup->value > 1 || setup->index != 0 || setup->length != 0) return false;
      set_configuration((uint8_t)setup->value);
      control_acknowledge();
      return true;
    default:
      return false;      /* no remote wake-up, no test modes, no descriptors to be written */
  }
}

static bool standard_interface(const struct setup *setup) {
  if (!configured || setup->index != 0) return false;
  const uint8_t *bytes;
  switch (setup->request) {
    case GET_STATUS:
      if (setup->value != 0 || setup->length != 2) return false;
      control_bytes[0] = control_bytes[1] = 0;
      control_answer(setup, control_bytes, 2);
      return true;
    case GET_DESCRIPTOR: {
      const uint32_t type = setup->value >> 8;
      if (type != DESCRIPTOR_HID && type != DESCRIPTOR_REPORT) return false;
      const uint32_t count = usb_descriptor(type, setup->value & 0xffu, &bytes);
      if (count == 0) return false;
      control_answer(setup, bytes, count);
      return true;
    }
    case GET_INTERFACE:
      if (setup->value != 0 || setup->length != 1) return false;
      control_bytes[0] = 0;
      control_answer(setup, control_bytes, 1);
      return true;
    case SET_INTERFACE:
      if (setup->value != 0 || setup->length != 0) return false;
      set_configuration(configured);                     /* USB 2.0, 9.4.10: toggles and halts start anew */
      control_acknowledge();
      return true;
    default:
      return false;
  }
}

static bool standard_endpoint(const struct setup *setup) {
  const bool control_endpoint = (setup->index & 0x7fu) == 0;
  bool *halted = halt_of(setup->index);
  if (!halted && !control_endpoint) return false;
  switch (setup->request) {
    case GET_STATUS:
      if (setup->value != 0 || setup->length != 2) return false;
      control_bytes[0] = halted && *halted;
      control_bytes[1] = 0;
      control_answer(setup, control_bytes, 2);
      return true;
    case CLEAR_FEATURE:
    case SET_FEATURE:
      if (!halted || setup->value != FEATURE_ENDPOINT_HALT || setup->length != 0) return false;
      set_halt(setup->index, setup->request == SET_FEATURE);
      control_acknowledge();
      return true;
    default:
      return false;
  }
}

static bool class_interface(const struct setup *setup) {
  if (!configured || setup->index != 0) return false;
  switch (setup->type << 8 | setup->request) {
    case 0xa1 << 8 | HID_GET_REPORT:
      if (setup->value != HID_REPORT_TYPE_INPUT << 8) return false;
      for (uint32_t i = 0; i < USB_REPORT_bytes; i++) control_bytes[i] = last_report[i];
      control_answer(setup, control_bytes, USB_REPORT_bytes);
      return true;
    case 0xa1 << 8 | HID_GET_IDLE:
      if (setup->value != 0 || setup->length != 1) return false;
      control_bytes[0] = 0;
      control_answer(setup, control_bytes, 1);
      return true;
    case 0x21 << 8 | HID_SET_IDLE:
      /* Reports come only when there is something to say: any other idle rate would be a promise not kept. */
      if (setup->value != 0 || setup->length != 0) return false;
      control_acknowledge();
      return true;
    default:
      return false;
  }
}

static void setup_received(void) {
  const volatile uint8_t *raw = USB_DPRAM->setup;
  const struct setup setup = {
    raw[0], raw[1], (uint16_t)(raw[2] | raw[3] << 8), (uint16_t)(raw[4] | raw[5] << 8), (uint16_t)(raw[6] | raw[7] << 8),
  };
  /* A SETUP ends whatever control transfer ran. */
  take_back(&USB_DPRAM->buf_ctrl[0].in, BUFF_EP0_IN, 0);
  take_back(&USB_DPRAM->buf_ctrl[0].out, BUFF_EP0_OUT, 0);
  USB->buff_status = BUFF_EP0_IN | BUFF_EP0_OUT;
  address_to_set = 0;
  control_pid = true;
  bool answered = false;
  /* No request of ours takes data; without data the direction bit means nothing (USB 2.0, 9.3.1). */
  const bool takes_data = !(setup.type & 0x80u) && setup.length != 0;
  if (!takes_data) switch (setup.type) {
    case 0x00: case 0x80: answered = standard_device(&setup); break;
    case 0x01: case 0x81: answered = standard_interface(&setup); break;
    case 0x02: case 0x82: answered = standard_endpoint(&setup); break;
    case 0x21: case 0xa1: answered = class_interface(&setup); break;
    default: break;
  }
  if (!answered) control_stall();
}

static void ep0_in_done(void) {
  if (address_to_set) {
    USB->addr_endp[0] = address_to_set & 0x7fu;
    address_to_set = 0;
  }
  if (!control_is_in) return;
  if (control_left > 0 || control_short) {
    control_send_packet();
  } else {
    bool pid = true;
    control_is_in = false;
    arm_out(&USB_DPRAM->buf_ctrl[0].out, &pid, 0);       /* the host's status stage */
  }
}

static void bus_reset(void) {
  USB->addr_endp[0] = 0;
  take_back(&USB_DPRAM->buf_ctrl[0].in, BUFF_EP0_IN, 0);
  take_back(&USB_DPRAM->buf_ctrl[0].out, BUFF_EP0_OUT, 0);
  address_to_set = 0;
  control_is_in = false;
  suspended = false;
  endpoints_clear();
  USB_DPRAM->ep_ctrl[0].in = 0;
  USB_DPRAM->ep_ctrl[0].out = 0;
  USB->buff_status = 0xffffffffu;
  configured = 0;
  tell_link();
}

static void buffers_done(void) {
  const uint32_t done = USB->buff_status;
  USB->buff_status = done;
  if (done & BUFF_EP0_IN) ep0_in_done();
  if (done & BUFF_EP1_IN && in_busy) {
    in_busy = false;
    events_push(EVENT_REPORT_SENT, 0);
  }
  if (done & BUFF_EP1_OUT && !out_waiting && configured) {
    out_waiting = true;
    events_push(EVENT_REPORT, USB_DPRAM->buf_ctrl[1].out & USB_BUF_LENGTH_MASK);
  }
}

void usb_isr(void) {
  const uint32_t status = USB->ints;
  if (status & USB_INT_BUS_RESET) {
    USB->sie_status = USB_SIE_STATUS_BUS_RESET;
    bus_reset();
  }
  if (status & USB_INT_DEV_SUSPEND) {
    const bool now = (USB->sie_status & USB_SIE_STATUS_SUSPENDED) != 0;
    USB->sie_status = USB_SIE_STATUS_SUSPENDED;
    set_suspended(now);
  }
  if (status & USB_INT_DEV_RESUME_FROM_HOST) {
    USB->sie_status = USB_SIE_STATUS_RESUME;
    set_suspended(false);
  }
  if (status & USB_INT_BUFF_STATUS) buffers_done();
  if (status & USB_INT_SETUP_REQ) {
    USB->sie_status = USB_SIE_STATUS_SETUP_REC;
    set_suspended(false);
    setup_received();
  }
}

void usb_start(void) {
  for (uint32_t i = 0; i < sizeof(struct usb_dpram) / 4; i++) ((io_rw32 *)USB_DPRAM)[i] = 0;
  USB->usb_muxing = USB_MUXING_TO_PHY | USB_MUXING_SOFTCON;
  USB->usb_pwr = USB_PWR_VBUS_DETECT | USB_PWR_VBUS_DETECT_OVERRIDE_EN;
  USB->main_ctrl = USB_MAIN_CTRL_CONTROLLER_EN;
  USB->inte = USB_INT_BUFF_STATUS | USB_INT_BUS_RESET | USB_INT_SETUP_REQ | USB_INT_DEV_SUSPEND | USB_INT_DEV_RESUME_FROM_HOST;
  nvic_enable(IRQ_USBCTRL, 2);
  USB->sie_ctrl = USB_SIE_CTRL_EP0_INT_1BUF | USB_SIE_CTRL_PULLUP_EN;
}

void usb_tick(void) {
  /* Frames that are counted are no sleep, whatever was told before: a change that was missed must not silence us for good. */
  if (suspended && (USB->sof_rd & USB_SOF_RD_COUNT_MASK) != asleep_since_frame) set_suspended(false);
}

bool usb_send(const uint8_t *report) {
  const uint32_t primask = interrupts_off();
  const bool free = configured && !in_busy && !in_halted;
  if (free) {
    in_busy = true;
    for (uint32_t i = 0; i < USB_REPORT_bytes; i++) last_report[i] = report[i];
    copy_to_dpram(BUFFER_EP1_IN, report, USB_REPORT_bytes);
    arm_in(&USB_DPRAM->buf_ctrl[1].in, &in_pid, USB_REPORT_bytes);
  }
  interrupts_restore(primask);
  return free;
}

uint32_t usb_take_report(uint8_t *report) {
  const uint32_t primask = interrupts_off();
  uint32_t count = 0;
  if (out_waiting) {
    count = USB_DPRAM->buf_ctrl[1].out & USB_BUF_LENGTH_MASK;
    if (count > USB_REPORT_bytes) count = USB_REPORT_bytes;
    const volatile uint8_t *from = (const volatile uint8_t *)BUFFER_EP1_OUT;
    for (uint32_t i = 0; i < count; i++) report[i] = from[i];
    out_waiting = false;
    if (!out_halted) arm_out(&USB_DPRAM->buf_ctrl[1].out, &out_pid, PACKET_bytes);
  }
  interrupts_restore(primask);
  return count;
}

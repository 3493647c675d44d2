/** USB controller in device mode and its dual-ported RAM, RP2040 data sheet 4.1. */
#pragma once
#include "register.h"

struct usb_hw {
  io_rw32 addr_endp[16];
  io_rw32 main_ctrl, sof_wr;
  io_ro32 sof_rd;
  io_rw32 sie_ctrl, sie_status, int_ep_ctrl, buff_status;
  io_ro32 buff_cpu_should_handle;
  io_rw32 ep_abort, ep_abort_done, ep_stall_arm, nak_poll, ep_status_stall_nak, usb_muxing, usb_pwr;
  io_rw32 usbphy_direct, usbphy_direct_override, usbphy_trim;
  uint32_t reserved;
  io_ro32 intr;
  io_rw32 inte, intf;
  io_ro32 ints;
};
_Static_assert(sizeof(struct usb_hw) == 0x9c, "USB: INTS is at 0x98");
#define USB ((struct usb_hw *)0x50110000u)
#define USB_MAIN_CTRL_CONTROLLER_EN (1u << 0)
#define USB_SIE_CTRL_EP0_INT_1BUF (1u << 29)
#define USB_SIE_CTRL_PULLUP_EN (1u << 16)
#define USB_SIE_STATUS_BUS_RESET (1u << 19)
#define USB_SIE_STATUS_SETUP_REC (1u << 17)
#define USB_SIE_STATUS_RESUME (1u << 11)
#define USB_SIE_STATUS_SUSPENDED (1u << 4)
#define USB_MUXING_TO_PHY (1u << 0)
#define USB_MUXING_SOFTCON (1u << 3)
#define USB_PWR_VBUS_DETECT (1u << 2)
#define USB_PWR_VBUS_DETECT_OVERRIDE_EN (1u << 3)
#define USB_INT_SETUP_REQ (1u << 16)
#define USB_INT_DEV_RESUME_FROM_HOST (1u << 15)
/** Raised when the state changes, either way; what it is stands in SIE_STATUS.SUSPENDED, and a write there clears this. */
#define USB_INT_DEV_SUSPEND (1u << 14)
#define USB_INT_BUS_RESET (1u << 12)
#define USB_INT_BUFF_STATUS (1u << 4)
#define USB_SOF_RD_COUNT_MASK 0x7ffu
#define USB_STALL_ARM_EP0_IN (1u << 0)
#define USB_STALL_ARM_EP0_OUT (1u << 1)

struct usb_dpram {
  volatile uint8_t setup[8];
  struct { io_rw32 in, out; } ep_ctrl[15];      /* endpoints 1 to 15 */
  struct { io_rw32 in, out; } buf_ctrl[16];     /* endpoints 0 to 15 */
  io_rw32 ep0_buffer[16];
  io_rw32 ep0_buffer_b[16];
  io_rw32 buffers[(4096 - 0x180) / 4];
};
_Static_assert(sizeof(struct usb_dpram) == 4096, "USB: the dual-ported RAM has 4 KiB");
#define USB_DPRAM ((struct usb_dpram *)0x50100000u)
#define USB_EP_CTRL_ENABLE (1u << 31)
#define USB_EP_CTRL_INT_1BUF (1u << 29)
#define USB_EP_CTRL_TYPE_INTERRUPT (3u << 26)
#define USB_BUF_FULL (1u << 15)
#define USB_BUF_DATA1 (1u << 13)
#define USB_BUF_STALL (1u << 11)
#define USB_BUF_AVAILABLE (1u << 10)
#define USB_BUF_LENGTH_MASK 0x3ffu

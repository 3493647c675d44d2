/** A full-speed HID device with one pair of 64-byte interrupt endpoints, single buffers. */
#pragma once
#include <stdbool.h>
#include <stdint.h>

/** `Link` of shared-logic/assembly/layout.ts. */
enum usb_link { LINK_DETACHED, LINK_ATTACHED, LINK_SUSPENDED };

/** Connects to the bus. EVENT_LINK, EVENT_REPORT and EVENT_REPORT_SENT come from here. */
void usb_start(void);

/** From the tick: notices a bus that is awake again. */
void usb_tick(void);

/** Hands over a report. @returns false while the last one is not collected, or when no host has configured us */
bool usb_send(const uint8_t *report);

/** Takes the report that EVENT_REPORT told of, and lets the host send the next. @returns bytes taken, 64 at most */
uint32_t usb_take_report(uint8_t *report);

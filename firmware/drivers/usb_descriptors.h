/** Who we say we are on the bus: numbers and names come from host/src/transport/identity.ts by way of the build. */
#pragma once
#include <stdint.h>
#include "usb_identity.h"

#define USB_REPORT_bytes 64u

enum { DESCRIPTOR_DEVICE = 1, DESCRIPTOR_CONFIGURATION = 2, DESCRIPTOR_STRING = 3, DESCRIPTOR_HID = 0x21, DESCRIPTOR_REPORT = 0x22 };
enum { STRING_LANGUAGES, STRING_MANUFACTURER, STRING_PRODUCT, STRING_SERIAL };

/**
 * Finds a descriptor.
 * @param type,index - high and low byte of wValue @param bytes - set to where it lies
 * @returns its length, 0 when we have no such descriptor
 */
uint32_t usb_descriptor(uint32_t type, uint32_t index, const uint8_t **bytes);

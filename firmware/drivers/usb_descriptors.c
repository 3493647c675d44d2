#include "usb_descriptors.h"
#include "identity.h"

#define LOW(value) ((value) & 0xffu)
#define HIGH(value) ((value) >> 8 & 0xffu)

/** USB 2.0, table 9-8. The release is the firmware's version in BCD. */
static const uint8_t device[18] = {
  18, DESCRIPTOR_DEVICE, 0x00, 0x02, 0, 0, 0, 64,
  LOW(USB_VENDOR_ID), HIGH(USB_VENDOR_ID), LOW(USB_PRODUCT_ID), HIGH(USB_PRODUCT_ID),
  FIRMWARE_MINOR << 4 | FIRMWARE_PATCH, FIRMWARE_MAJOR,
  STRING_MANUFACTURER, STRING_PRODUCT, STRING_SERIAL, 1,
};
_Static_assert(FIRMWARE_MINOR < 10 && FIRMWARE_PATCH < 10 && FIRMWARE_MAJOR < 10, "bcdDevice holds one digit of each");

/** HID 1.11, 6.2.2: vendor page FF00, one collection, 64 bytes in, 64 bytes out, no report number. */
static const uint8_t report[25] = {
  0x06, 0x00, 0xff,   /* Usage Page (vendor FF00) */
  0x09, 0x01,         /* Usage (1) */
  0xa1, 0x01,         /* Collection (Application) */
  0x15, 0x00,         /*   Logical Minimum (0) */
  0x26, 0xff, 0x00,   /*   Logical Maximum (255) */
  0x75, 0x08,         /*   Report Size (8) */
  0x95, 0x40,         /*   Report Count (64) */
  0x09, 0x01,         /*   Usage (1) */
  0x81, 0x02,         /*   Input (Data, Variable, Absolute) */
  0x09, 0x01,         /*   Usage (1) */
  0x91, 0x02,         /*   Output (Data, Variable, Absolute) */
  0xc0,               /* End Collection */
};

#define INTERVAL_ms 1
/**
 * Current from the bus at most: RP2040 with flash, crystal and USB 60 mA, one light 5 mA, analog rails 2 x 20 mA through the charge
 * pump's doubling 80 mA, shunts and regulators 15 mA. From memory of the data sheets; a board's own figure comes from a meter.
 */
#define CURRENT_mA 160
#define HID_OFFSET 18

static const uint8_t configuration[41] = {
  9, DESCRIPTOR_CONFIGURATION, 41, 0, 1, 1, 0, 0x80, CURRENT_mA / 2,      /* bus powered */
  9, 4, 0, 0, 2, 3, 0, 0, 0,                                        /* interface 0: HID, no boot protocol */
  9, DESCRIPTOR_HID, 0x11, 0x01, 0, 1, DESCRIPTOR_REPORT, sizeof report, 0,
  7, 5, 0x81, 3, USB_REPORT_bytes, 0, INTERVAL_ms,
  7, 5, 0x01, 3, USB_REPORT_bytes, 0, INTERVAL_ms,
};

static const uint8_t languages[4] = { 4, DESCRIPTOR_STRING, 0x09, 0x04 };

_Static_assert(sizeof USB_MANUFACTURER <= 32 && sizeof USB_PRODUCT <= 32, "a string descriptor holds 32 characters here");

static uint32_t string(const char *text, uint32_t length_max, const uint8_t **bytes) {
  static uint8_t descriptor[2 + 2 * 32];
  uint32_t length = 0;
  while (length < length_max && text[length] != 0) {
    descriptor[2 + 2 * length] = (uint8_t)text[length];
    descriptor[3 + 2 * length] = 0;
    length++;
  }
  descriptor[0] = (uint8_t)(2 + 2 * length);
  descriptor[1] = DESCRIPTOR_STRING;
  *bytes = descriptor;
  return descriptor[0];
}

uint32_t usb_descriptor(uint32_t type, uint32_t index, const uint8_t **bytes) {
  switch (type << 8 | index) {
    case DESCRIPTOR_DEVICE << 8: return *bytes = device, sizeof device;
    case DESCRIPTOR_CONFIGURATION << 8: return *bytes = configuration, sizeof configuration;
    case DESCRIPTOR_HID << 8: return *bytes = &configuration[HID_OFFSET], configuration[HID_OFFSET];
    case DESCRIPTOR_REPORT << 8: return *bytes = report, sizeof report;
    case (DESCRIPTOR_STRING << 8) + STRING_LANGUAGES: return *bytes = languages, sizeof languages;
    case DESCRIPTOR_STRING << 8 | STRING_MANUFACTURER: return string(USB_MANUFACTURER, sizeof USB_MANUFACTURER - 1, bytes);
    case DESCRIPTOR_STRING << 8 | STRING_PRODUCT: return string(USB_PRODUCT, sizeof USB_PRODUCT - 1, bytes);
    case DESCRIPTOR_STRING << 8 | STRING_SERIAL: return string(identity.serial, sizeof identity.serial, bytes);
    default: return 0;
  }
}

/** How a tester says on the bus what it is. The firmware's descriptors hold the same. */

/**
 * The vendor that pid.codes lends to open-source hardware, and the first of the product numbers
 * that it keeps for tests (0x0001 to 0x0010, never sold). Anybody's experiment may use them too, so
 * they prove nothing: a tester is known by its product string, and trusted after its identity report.
 * @see pid.codes, "pid.codes Test PID"
 */
export const VENDOR_ID = 0x1209;
export const PRODUCT_ID = 0x0001;

export const MANUFACTURER = 'Tapstone';
export const PRODUCT = 'Tapstone tester';

/** Vendor-defined page and usage (HID Usage Tables: pages FF00 to FFFF) of the one collection. */
export const USAGE_PAGE = 0xff00;
export const USAGE = 0x01;

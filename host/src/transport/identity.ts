/** How a tester says on the bus what it is. The firmware's build takes its numbers and names from here. */

/** The vendor that pid.codes lends to open-source hardware. */
export const VENDOR_ID = 0x1209;

/**
 * Our own product number: the one constant to change when pid.codes has assigned it, `null` until then.
 * hardware-notes/usb-identity.md says how to get one and what else is to be done on that day.
 */
export const OWN_PRODUCT_ID: number | null = null;

/**
 * The first of the product numbers that pid.codes keeps for tests (0x0001 to 0x0010). Anybody's experiment may use them too, so they
 * prove nothing, and nothing that leaves the workshop may carry one: `npm run release` refuses.
 * @see pid.codes, "pid.codes Test PID"
 */
export const TEST_PRODUCT_ID = 0x0001;

/** What the firmware is built with. */
export const PRODUCT_ID: number = OWN_PRODUCT_ID ?? TEST_PRODUCT_ID;

/** What the program takes for a tester: testers of both kinds are about when the number changes. */
export const PRODUCT_IDS: ReadonlySet<number> = new Set([PRODUCT_ID, TEST_PRODUCT_ID]);

export const MANUFACTURER = 'Tapstone';
export const PRODUCT = 'Tapstone tester';

/** Vendor-defined page and usage (HID Usage Tables: pages FF00 to FFFF) of the one collection. */
export const USAGE_PAGE = 0xff00;
export const USAGE = 0x01;

/** A number of an identity as it is written: four hexadecimal digits. */
export function idHex(id: number): string {
  return id.toString(16).padStart(4, '0');
}

/** An identity as it is written: 1209:0001. */
export function identityText(productId: number): string {
  return `${idHex(VENDOR_ID)}:${idHex(productId)}`;
}

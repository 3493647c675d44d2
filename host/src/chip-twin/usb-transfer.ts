/** How a USB transfer to the emulated chip ends. */

/** What a device answers when it does not support a request, or has halted an endpoint. */
export const STALL: unique symbol = Symbol('stall');

/** A transfer's answer: the bytes of an IN transfer, none after an OUT transfer, or a stall. */
export type Answer = Uint8Array | typeof STALL;

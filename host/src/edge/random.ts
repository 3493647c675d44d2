/** The only place where the product draws a number that no seed decides. */
import { randomBytes, randomInt } from 'node:crypto';

/** A seed for a run whose user named none: 0 to 2^32 - 1. It is printed, so that the run can be had again. */
export function freshSeed(): number {
  return randomInt(0, 2 ** 32);
}

/** A name that nothing else has, 32 hexadecimal digits: a test keeps it wherever it is handed to. */
export function freshUid(): string {
  return randomBytes(16).toString('hex');
}

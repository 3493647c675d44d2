/** The only place where the product reads a clock. */

/** Time of day for records, to the second, UTC: `2026-03-14T10:22:31Z`. */
export function timeOfDay(): string {
  return new Date(Date.now()).toISOString().replace(/\.\d+Z$/, 'Z');
}

/** A clock that only runs forward, milliseconds since an arbitrary moment. */
export function elapsed_ms(): number {
  return performance.now();
}

/** Waits.
 * @param delay_ms - milliseconds, 0 or more
 */
export function pause(delay_ms: number): Promise<void> {
  return new Promise((resolve) => setTimeout(resolve, delay_ms));
}

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
 * @param signal - ends the wait early, without an error
 */
export function pause(delay_ms: number, signal?: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    const done = (): void => {
      clearTimeout(timer);
      signal?.removeEventListener('abort', done);
      resolve();
    };
    const timer = setTimeout(done, delay_ms);
    if (signal?.aborted) done();
    else signal?.addEventListener('abort', done);
  });
}

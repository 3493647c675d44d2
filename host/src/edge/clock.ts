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

/** Acts again and again. @param delay_ms - milliseconds between, above 0 @returns a function that ends it */
export function every(delay_ms: number, act: () => void): () => Promise<void> {
  const timer = setInterval(act, delay_ms);
  return async () => clearInterval(timer);
}

/** Acts when nothing put it off for a while; it keeps no program alive. */
export interface Alarm {
  /** Counts from now on. */
  putOff(): void;
  stop(): void;
}

/** @param delay_ms - milliseconds, above 0 @param act - called once for each time that the delay passes */
export function alarm(delay_ms: number, act: () => void): Alarm {
  const timer = setTimeout(act, delay_ms);
  timer.unref();
  return { putOff: () => void timer.refresh(), stop: () => clearTimeout(timer) };
}

/**
 * A time of day in the place where the program runs, with its offset from UTC: `2026-03-14 11:22:31 +01:00`.
 * @param utc - as records hold it, `2026-03-14T10:22:31Z`; anything else comes back as it is
 */
export function localTime(utc: string): string {
  const at = new Date(utc);
  if (!/^\d{4}-\d\d-\d\dT[\d:.]+Z$/.test(utc) || Number.isNaN(at.getTime())) return utc;
  const offset_min = -at.getTimezoneOffset();
  const two = (value: number): string => String(Math.floor(value)).padStart(2, '0');
  const local = new Date(at.getTime() + offset_min * 60_000).toISOString();
  const size_min = Math.abs(offset_min);
  return `${local.slice(0, 10)} ${local.slice(11, 19)} ${offset_min < 0 ? '-' : '+'}${two(size_min / 60)}:${two(size_min % 60)}`;
}

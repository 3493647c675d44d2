/** Which testers are plugged in, which one is meant, and when that changes. */
import { pause } from '../edge/clock.ts';
import { printable } from '../text/printable.ts';
import type { HidDriver, HidEntry } from './driver.ts';
import { identityText, PRODUCT, PRODUCT_IDS, TEST_PRODUCT_ID, USAGE, USAGE_PAGE, VENDOR_ID } from './identity.ts';
import { TransportError } from './transport.ts';

/** A plugged-in tester that nothing has spoken to yet. */
export type FoundTester = { readonly serial: string; readonly path: string };

/** What the bus holds of interest. */
export type Found = {
  /** In the order of their serial numbers. */
  readonly testers: readonly FoundTester[];
  /** One sentence for each device that has our identity but is none of ours. */
  readonly foreign: readonly string[];
};

/** Sorts what the driver lists. */
export function sift(entries: readonly HidEntry[]): Found {
  const testers: FoundTester[] = [];
  const foreign = new Set<string>();
  for (const entry of entries) {
    if (entry.vendorId !== VENDOR_ID || !PRODUCT_IDS.has(entry.productId)) continue;
    const calls = printable(entry.product || 'nothing', 60);
    // The usage page is unknown (0) where a system does not tell it.
    const usage = !entry.usagePage || (entry.usagePage === USAGE_PAGE && entry.usage === USAGE);
    if (entry.product !== PRODUCT || !usage || !entry.path) {
      foreign.add(
        `a device with the ${entry.productId === TEST_PRODUCT_ID ? 'test ' : ''}identity ${identityText(entry.productId)} calls itself "${calls}" and is no Tapstone tester; it was left alone`,
      );
      continue;
    }
    testers.push({ serial: printable(entry.serialNumber || 'without a number', 60), path: entry.path });
  }
  testers.sort((one, other) => (one.serial < other.serial ? -1 : one.serial > other.serial ? 1 : 0));
  return { testers, foreign: [...foreign] };
}

/** Looks once. */
export async function findTesters(driver: HidDriver): Promise<Found> {
  return sift(await driver.list());
}

/**
 * The tester that is meant: the one asked for, the only one, or the one chosen last time.
 * @param wanted - serial number that the user named, if any
 * @param remembered - serial number of the last choice, if any
 * @returns null when none is plugged in and none was asked for
 * @throws TransportError when it is not there, or when several are and none was chosen
 */
export function chooseTester(
  found: Found,
  wanted: string | undefined,
  remembered: string | undefined,
): FoundTester | null {
  const { testers } = found;
  const names = testers.map(({ serial }) => serial).join(', ');
  if (wanted !== undefined) {
    const match = testers.find(({ serial }) => serial === wanted);
    if (match) return match;
    const instead = testers.length ? `plugged in: ${names}` : 'none is plugged in';
    throw new TransportError(`tester ${printable(wanted, 60)} is not plugged in; ${instead}`);
  }
  if (testers.length < 2) return testers[0] ?? null;
  const last = testers.find(({ serial }) => serial === remembered);
  if (last) return last;
  throw new TransportError(`${testers.length} testers are plugged in: ${names}; choose one with --tester ${testers[0].serial}`);
}

/** Between two looks at the bus, milliseconds: no harder than once a second. */
const LOOK_ms = 1000;

/**
 * Follows testers as they are plugged in and pulled out.
 * @param changed - called at the start and after each change
 * @param signal - ends it
 * @param wait - between two looks
 */
export async function watchTesters(
  driver: HidDriver,
  changed: (found: Found) => void,
  signal: AbortSignal,
  wait: () => Promise<void> = () => pause(LOOK_ms, signal),
): Promise<void> {
  let last = '';
  while (!signal.aborted) {
    // A look that fails in the middle of a plug or a pull is made again.
    const found = await findTesters(driver).catch(() => null);
    if (signal.aborted) return;
    const now = JSON.stringify(found);
    if (found && now !== last) {
      last = now;
      changed(found);
    }
    await wait();
  }
}

/** Acts whenever a tester is plugged in that was there and had been pulled out. @returns a function that ends it */
export function whenBack(driver: HidDriver, serial: string, act: () => void): () => void {
  const ended = new AbortController();
  let known = true;
  void watchTesters(driver, ({ testers }) => {
    const present = testers.some((one) => one.serial === serial);
    if (present && !known) act();
    known = present;
  }, ended.signal);
  return () => ended.abort();
}

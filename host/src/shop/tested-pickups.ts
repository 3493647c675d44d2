/** Pickups of the stock with the tests that speak for them, as papers about them need. */
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import type { KeptTest, TestedPickup } from '../papers/tested-pickup.ts';
import { readClips } from '../records/facts.ts';
import { keptMap } from '../records/kept-map.ts';
import type { LocalTime } from '../records/list-text.ts';
import { evidenceOf, lotNamed, pickupNamed, pickupNumbered, placesOfLot, type Line, type PickupDetail } from '../records/searching.ts';
import type { Stock } from '../records/work.ts';
import { printable } from '../text/printable.ts';

/** What was asked for is not in stock, or damaged; the message is the whole sentence. */
export class NotInStock extends Error {
  readonly kind: 'missing' | 'content';

  constructor(kind: NotInStock['kind'], message: string) {
    super(message);
    this.name = 'NotInStock';
    this.kind = kind;
  }
}

/** The pickup of a shop number. @param stock - null when nothing was ever kept @throws NotInStock */
export async function testedPickup(stock: Stock | null, number: string, local: LocalTime): Promise<TestedPickup> {
  const detail = stock === null ? null : await stock.do(pickupNumbered(number));
  if (detail === null) throw new NotInStock('missing', `no pickup has number ${printable(number, 60)}; "tapstone stock" lists them`);
  return withTest(stock!, detail, local);
}

/** The number that a pickup has by now; null while it has none. @param stocks - to look in, the one that knows best first */
export async function numberNow(stocks: readonly Stock[], uid: string): Promise<string | null> {
  for (const stock of stocks) {
    const detail = await stock.do(pickupNamed(uid));
    if (detail !== null) return detail.line.number;
  }
  return null;
}

/** The same of a pickup that was found already. @throws NotInStock */
export async function withTest(stock: Stock, { line }: PickupDetail, local: LocalTime): Promise<TestedPickup> {
  const { title, lot, state, isVirtual } = line;
  const number = line.number ?? '';
  return { number, title, lot: lot ?? '', state, isVirtual, test: await keptTest(stock, line, local) };
}

/** The pickups of a lot that have a number, in the order in which they came.
 * @param onEach - told how many of how many were read; answers whether to go on
 * @throws NotInStock
 */
export async function testedLot(
  stock: Stock | null, name: string, local: LocalTime, onEach: (done: number, of: number) => boolean = () => true,
): Promise<TestedPickup[]> {
  const lot = stock === null ? null : await stock.do(lotNamed(name));
  if (lot === null) throw new NotInStock('missing', `there is no lot "${printable(name, 60)}"; "tapstone lot" lists them`);
  const numbers = (await stock!.do(placesOfLot(lot.uid))).flatMap(({ number }) => (number === null ? [] : [number]));
  if (numbers.length === 0) throw new NotInStock('content', `no pickup of lot "${printable(name, 60)}" has a number yet`);
  const pickups: TestedPickup[] = [];
  for (const number of numbers) {
    if (!onEach(pickups.length, numbers.length)) break;
    pickups.push(await testedPickup(stock, number, local));
  }
  return pickups;
}

async function keptTest(stock: Stock, { test, taken, clips, number }: Line, local: LocalTime): Promise<KeptTest | null> {
  if (test === null) return null;
  const damaged = (why: string): NotInStock =>
    new NotInStock('content', `test ${test} of ${printable(number ?? '', 60)} is damaged: ${printable(why, 200)}; test the pickup again`);
  const found = await stock.do(evidenceOf(test));
  if (found === null) throw damaged('its evidence is not there');
  if ('damaged' in found) throw damaged(found.damaged);
  const kept = keptMap(found.map);
  if ('damaged' in kept) throw damaged(kept.damaged);
  try {
    return {
      id: test, taken: local(taken ?? ''), record: asBenchRecord(found.record), module: found.module, map: kept.map,
      colours: new Map(readClips(clips).map(({ clip, colour }) => [clip, colour])),
    };
  } catch (error) {
    if (error instanceof FieldError) throw damaged(error.message);
    throw error;
  }
}

/** Pickups of the stock with the tests that speak for them, as papers about them need. */
import { localTime } from '../edge/clock.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import { FieldError } from '../files/field-walk.ts';
import { asWireMap } from '../files/wiremap-file.ts';
import type { KeptTest, TestedPickup } from '../papers/tested-pickup.ts';
import { readClips } from '../records/facts.ts';
import { evidenceOf, lotNamed, pickupNumbered, placesOfLot, type Line } from '../records/searching.ts';
import type { Stock } from '../records/work.ts';
import { printable } from '../text/printable.ts';
import { UserError } from './errors.ts';
import { EXIT } from './exit-codes.ts';

/** The pickup of a shop number. @param command - for messages @param stock - null when nothing was ever kept @throws UserError */
export async function testedPickup(command: string, stock: Stock | null, number: string): Promise<TestedPickup> {
  const detail = stock === null ? null : await stock.do(pickupNumbered(number));
  if (detail === null) throw new UserError(`${command}: no pickup has number ${printable(number, 60)}; "tapstone stock" lists them`, EXIT.noInput);
  const { title, lot, state, isVirtual } = detail.line;
  return { number, title, lot: lot ?? '', state, isVirtual, test: await keptTest(command, stock!, number, detail.line) };
}

/** The pickups of a lot that have a number, in the order in which they came. @throws UserError */
export async function testedLot(command: string, stock: Stock | null, name: string): Promise<TestedPickup[]> {
  const lot = stock === null ? null : await stock.do(lotNamed(name));
  if (lot === null) throw new UserError(`${command}: there is no lot "${printable(name, 60)}"; "tapstone lot" lists them`, EXIT.noInput);
  const pickups: TestedPickup[] = [];
  for (const { number } of await stock!.do(placesOfLot(lot.uid)))
    if (number !== null) pickups.push(await testedPickup(command, stock, number));
  if (pickups.length === 0) throw new UserError(`${command}: no pickup of lot "${printable(name, 60)}" has a number yet`, EXIT.badContent);
  return pickups;
}

async function keptTest(command: string, stock: Stock, number: string, { test, taken, clips }: Line): Promise<KeptTest | null> {
  if (test === null) return null;
  const damaged = (why: string): UserError =>
    new UserError(`${command}: test ${test} of ${printable(number, 60)} is damaged: ${printable(why, 200)}; test the pickup again`, EXIT.badContent);
  const found = await stock.do(evidenceOf(test));
  if (found === null) throw damaged('its evidence is not there');
  if ('damaged' in found) throw damaged(found.damaged);
  try {
    const map = asWireMap(JSON.parse(found.map) as unknown);
    return {
      id: test, taken: localTime(taken ?? ''), record: asBenchRecord(found.record), module: found.module,
      map: { ...map, pairs: map.pairs ?? [], findings: map.findings ?? [], unknown: map.unknown ?? [] },
      colours: new Map(readClips(clips).map(({ clip, colour }) => [clip, colour])),
    };
  } catch (error) {
    if (error instanceof FieldError || error instanceof SyntaxError) throw damaged(error.message);
    throw error;
  }
}

/** Pickups of the stock as they are compared: their current maps with the names of their leads. */
import { readClips } from './facts.ts';
import { keptMap } from './kept-map.ts';
import { compared, type Compared } from './leads-of.ts';
import { mapsOf, nearestByOhm, search, type Line } from './searching.ts';
import { rankPartners, type Partner } from './partners.ts';
import { findOutliers, type OutlierReport } from './outliers.ts';
import type { Stock } from './work.ts';

/** Pickups whose ohms are nearest are looked at as partners; more than a workshop would ever try. */
const PARTNERS_MOST = 200;
/** How far a partner's ohms may lie off, a share: beyond it one of the two is plainly louder. */
const PARTNER_SHARE = 0.35;
/** Pickups of a lot that are compared at most. */
const LOT_MOST = 5000;

/** @param lines - those without a test or without a map that can be read are left out */
export async function comparedLines(stock: Stock, lines: readonly Line[]): Promise<Compared[]> {
  const tests = lines.flatMap(({ test }) => (test === null ? [] : [test]));
  const maps = await stock.do(mapsOf(tests));
  return lines.flatMap(({ test, number, pickup, clips }) => {
    const kept = test === null ? null : keptMap(maps.get(test) ?? '');
    return kept === null || 'damaged' in kept ? [] : [compared(number ?? `pickup ${pickup}`, kept.map, readClips(clips))];
  });
}

/** Good pickups in stock that pair with one, the best first. @returns null when the one has no coil to compare by */
export async function findPartners(stock: Stock, line: Line): Promise<Partner[] | null> {
  const [own] = await comparedLines(stock, [line]);
  if (own === undefined || line.ohm === null) return null;
  const near = await stock.do(nearestByOhm(line.ohm, PARTNER_SHARE, line.isVirtual, PARTNERS_MOST + 1));
  const others = await comparedLines(stock, near.filter(({ pickup }) => pickup !== line.pickup));
  return rankPartners(own, others);
}

export interface LotSummary {
  readonly lines: readonly Line[];
  readonly report: OutlierReport;
}

/** The pickups of a lot, in the order in which they came, and which of them differ. */
export async function summariseLot(stock: Stock, lot: string): Promise<LotSummary> {
  const lines = (await stock.do(search('stock', { lot, withVirtual: true }, LOT_MOST))).reverse();
  return { lines, report: findOutliers(await comparedLines(stock, lines)) };
}

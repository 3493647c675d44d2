/** The screens that lie over the bench, and what they show: loaded together, beside the bench's first screen. */
import type { EntrySession } from '../entry/session.ts';
import type { HarnessMeans } from '../shop/harness-list.ts';
import type { PickupMeans } from '../shop/pickup-model.ts';
import type { SettingsMeans } from '../shop/settings-model.ts';

export { HarnessList } from '../shop/harness-list.ts';
export { LotModel } from '../shop/lot-model.ts';
export { PickupModel } from '../shop/pickup-model.ts';
export { SettingsModel } from '../shop/settings-model.ts';
export { StockModel } from '../shop/stock-model.ts';
export { numberNow } from '../shop/tested-pickups.ts';
export { EntryApp } from './entry-app.tsx';
export { HarnessListApp } from './harness-list-app.tsx';
export { LotApp } from './lot-app.tsx';
export { PickupApp } from './pickup-app.tsx';
export { SettingsApp } from './settings-app.tsx';
export { StockApp } from './stock-app.tsx';

/** What they are made from. */
export interface ShopMeans {
  readonly pickup: PickupMeans;
  readonly settings: SettingsMeans;
  readonly harnesses: HarnessMeans;
  readonly entry: EntryMeans;
}

/** A pickup that is entered by meters of one's own. */
export interface EntryMeans {
  begin(): Promise<EntrySession>;
  /** Keeps what was read. @param isBroken - the person quit in the middle @returns the pickup's own name */
  keep(session: EntrySession, isBroken: boolean): Promise<string>;
}

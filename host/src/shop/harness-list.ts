/** Harnesses that can be opened, and the pickups of the stock that are tried in them. */
import type { FittingModel } from '../fitting/fitting-model.ts';
import type { TestedPickup } from '../papers/tested-pickup.ts';
import { findPartners } from '../records/comparing.ts';
import { pickupNumbered, search } from '../records/searching.ts';
import { printable } from '../text/printable.ts';
import { Asking } from './asking.ts';
import type { Desk } from './desk.ts';
import { testedPickup } from './tested-pickups.ts';

/** Pickups that may be chosen for a slot. */
const PICKUPS_MOST = 20;

export interface HarnessFile {
  readonly path: string;
  /** As it is listed. */
  readonly name: string;
}

export interface HarnessMeans {
  readonly desk: Desk;
  /** Files there are. */
  files(): Promise<readonly HarnessFile[]>;
  /** Opens one, what draws and solves it included. @throws whatever `Desk.sentence` words */
  open(path: string, pickups: readonly TestedPickup[]): Promise<FittingModel>;
  /** Writes one as it stands into files of its own, over no other. @returns what the person is told */
  save(model: FittingModel): Promise<string>;
}

export interface HarnessListView {
  readonly about: string;
  readonly files: readonly string[];
  readonly chosen: number;
  /** Said in place of files. */
  readonly empty: string;
  readonly message: string | null;
}

export class HarnessList extends Asking<HarnessListView> {
  readonly #means: HarnessMeans;
  readonly #pickup: TestedPickup | null;
  readonly #withVirtual: boolean;
  #files: readonly HarnessFile[] | null = null;
  #chosen = 0;

  /** @param pickup - that is to be tried first, or null @param withVirtual - pickups of the virtual bench may be tried */
  constructor(means: HarnessMeans, pickup: TestedPickup | null, withVirtual: boolean) {
    super();
    this.#means = means;
    this.#pickup = pickup;
    this.#withVirtual = withVirtual;
  }

  async open(): Promise<void> {
    await this.attempt(async () => {
      this.#files = await this.#means.files();
      return null;
    });
  }

  move(by: number): void {
    this.#chosen = Math.max(0, Math.min((this.#files?.length ?? 0) - 1, this.#chosen + by));
    this.say(null);
  }

  /** The chosen harness with pickups to be tried in it; null when it cannot be opened. */
  async take(): Promise<FittingModel | null> {
    const file = this.#files?.[this.#chosen];
    if (file === undefined) return null;
    let model: FittingModel | null = null;
    await this.attempt(async () => {
      model = await this.#means.open(file.path, await this.#pickups());
      return null;
    });
    return model;
  }

  protected sentence(error: unknown): string {
    return this.#means.desk.sentence(error);
  }

  protected draw(): HarnessListView {
    return {
      about: this.#pickup === null ? 'with the newest good pickups in stock: there p puts one after the other into a slot' : `for pickup ${printable(this.#pickup.number)}${this.#pickup.test?.map.verdict === 'fault' ? ' (FAULT: do not fit)' : ''} and its partners: there p puts one after the other into a slot`,
      files: (this.#files ?? []).map(({ name }) => printable(name)), chosen: this.#chosen,
      empty: this.#files === null ? 'Looking.' : 'No file ends in .harness.json here; the settings name another folder.',
      message: this.message,
    };
  }

  /** The one that was asked for and its partners, or the newest good ones. */
  async #pickups(): Promise<TestedPickup[]> {
    const { desk } = this.#means;
    const own = this.#pickup;
    const found: TestedPickup[] = own === null || own.test === null ? [] : [own];
    for (const number of await this.#numbers()) {
      if (found.length === PICKUPS_MOST) break;
      const pickup = await testedPickup(desk, number, desk.localTime);
      if (pickup.test !== null) found.push(pickup);
    }
    return found;
  }

  async #numbers(): Promise<readonly string[]> {
    const { desk } = this.#means;
    const own = this.#pickup;
    if (own !== null) {
      const detail = await desk.do(pickupNumbered(own.number));
      return detail === null ? [] : ((await findPartners(desk, detail.line)) ?? []).map(({ number }) => number);
    }
    const lines = await desk.do(search('stock', { state: 'good', ...(this.#withVirtual ? { withVirtual: true } : {}) }, PICKUPS_MOST));
    return lines.flatMap(({ number }) => (number === null ? [] : [number]));
  }
}

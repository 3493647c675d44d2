/** Every combination of what may be changed in a harness, and what each setting then does. */
import type { Wiring, WiringBlock } from './circuit.ts';
import type { FittedPickup } from './fitted-pickup.ts';
import { settingNames, type Fitted } from './harness.ts';
import { judge, type JudgedCoil } from './judge.ts';
import type { LoadedHarness } from './load-harness.ts';
import {
  areLeadsLeft, effortBetween, effortOfAll, foreignNodes, MAGNET_effort, magnetWork, pickupOptions, widerOptions,
  type Allowance, type PickupOption, type Work,
} from './options.ts';
import { settingResult, type SettingResult } from './setting-result.ts';
import { Solver, type Solution } from './solver.ts';

/** More combinations than this are refused. */
export const COMBINATIONS_MOST = 100_000;
/** Hum up to here counts as cancelled. */
export const CANCELLED_hum = 0.15;
/** Between two looks at the clock, the keys or a screen. */
const TRIED_at_once = 1000;

export interface Count {
  readonly settings: number;
  readonly sounds: number;
  readonly in_phase: number;
  readonly out_of_phase: number;
  readonly hum_cancelled: number;
}

export interface Proposal {
  /** What has to be done; nothing for the harness as it stands. */
  readonly work: readonly Work[];
  readonly count: Count;
  /** As it would stand in the file; still in the words of the old wire maps where a magnet is turned. */
  readonly fitted: readonly Fitted[];
  readonly settings: readonly SettingResult[];
}

/** One combination: for each pickup an option, and whether its magnet is turned. */
export interface Combination {
  readonly options: readonly number[];
  readonly flipped: readonly boolean[];
}

/** What one setting does in one combination, in bits; 0 stands for not yet solved. */
const SOLVED = 1;
export const SOUNDS = 2;
export const IN_PHASE = 4;
const OUT_OF_PHASE = 8;
export const CANCELLED = 16;

/** What one setting does in every combination of the pickups that have a part in it. */
interface SettingTable {
  bits: Uint8Array | null;
  readonly size: number;
  /** By pickup: entries to the next option, and to the turned magnet; 0 for a pickup that has no part. */
  readonly strides: readonly number[];
  readonly reached: readonly boolean[];
}

export class PlanSearch {
  readonly options: readonly (readonly PickupOption[])[];
  readonly combinations: number;
  readonly solver: Solver;
  private readonly loaded: LoadedHarness;
  private readonly wirings: readonly (readonly Wiring[])[];
  /** Choices of each pickup: option, then magnet (`option + options * turned`). */
  private readonly choices: readonly number[];
  private readonly tables: readonly SettingTable[];
  private readonly solutions = new Map<string, Solution>();
  /** By pickup and option, at the frequency of the shares. */
  private readonly blocks: readonly (readonly WiringBlock[])[];
  /** Filled anew for each setting that is solved: hundreds of thousands of them. */
  private readonly scratch: {
    readonly wirings: Wiring[];
    readonly blocks: WiringBlock[];
    readonly flipped: boolean[];
    readonly shares: Float64Array;
  };

  /** @param allowed - `anything` takes in also what no plan may propose, only to say what would help */
  constructor(loaded: LoadedHarness, allowed: ReadonlySet<Allowance> | 'anything') {
    const { harness, pickups } = loaded;
    this.loaded = loaded;
    this.solver = new Solver(harness, pickups);
    this.options = pickups.map((pickup) =>
      (allowed === 'anything' ? widerOptions(harness, pickup) : pickupOptions(harness, pickup, allowed)));
    this.wirings = this.options.map((options, at) => options.map(({ placement }) => this.solver.wiring(at, placement)));
    this.blocks = this.wirings.map((some) => some.map((wiring) => this.solver.shareBlock(wiring)));
    this.scratch = { wirings: [], blocks: [], flipped: [], shares: new Float64Array(this.solver.coils.length) };
    this.choices = this.options.map(({ length }) => (allowed === 'anything' || allowed.has('magnet') ? 2 * length : length));
    this.combinations = this.choices.reduce((product, count) => product * count, 1);
    this.tables = this.solver.circuit.settings.map((_, at) => this.table(at));
  }

  get pickups(): readonly FittedPickup[] {
    return this.loaded.pickups;
  }

  /** Pickups that may have a part in a setting and whose leads have to stay on nodes that are not their slot's own, with those nodes. */
  leftIn(setting: number): { readonly slot: string; readonly nodes: readonly string[] }[] {
    const { harness, pickups } = this.loaded;
    return pickups.filter((pickup, at) => this.tables[setting]!.reached[at] === true && areLeadsLeft(harness, pickup))
      .map((pickup) => ({ slot: pickup.slot.slot, nodes: foreignNodes(harness, pickup) }));
  }

  private table(setting: number): SettingTable {
    const reached = this.solver.reach(setting, this.wirings);
    let size = 1;
    const strides = this.choices.map((count, at) => {
      if (reached[at] !== true) return 0;
      const stride = size;
      size *= count;
      return stride;
    });
    return { bits: null, size, strides, reached };
  }

  /** The best combinations, best first; among equals the one tried first. Yields how many were tried, now and then. */
  *best(most: number): Generator<number, Combination[]> {
    const { choices, tables } = this;
    const digits = choices.map(() => 0);
    const best: { readonly rank: readonly number[]; readonly digits: readonly number[] }[] = [];
    for (let tried = 0; tried < this.combinations; tried++) {
      if (tried % TRIED_at_once === 0) yield tried;
      const rank = this.rank(digits, tables);
      const last = best.at(-1);
      if (best.length < most || isBetter(rank, last!.rank)) {
        const at = best.findIndex((one) => isBetter(rank, one.rank));
        best.splice(at < 0 ? best.length : at, 0, { rank, digits: [...digits] });
        if (best.length > most) best.pop();
      }
      for (let at = digits.length - 1; at >= 0; at--) {
        digits[at]!++;
        if (digits[at]! < choices[at]!) break;
        digits[at] = 0;
      }
    }
    return best.map((one) => this.combination(one.digits));
  }

  private combination(digits: readonly number[]): Combination {
    return {
      options: digits.map((digit, at) => digit % this.options[at]!.length),
      flipped: digits.map((digit, at) => digit >= this.options[at]!.length),
    };
  }

  /** What counts, the larger the better: sounding, not out of phase, hum cancelled, not worked for. */
  private rank(digits: readonly number[], tables: readonly SettingTable[]): number[] {
    let [sounds, out, cancelled] = [0, 0, 0];
    for (let setting = 0; setting < tables.length; setting++) {
      const found = this.bitsOf(tables[setting]!, setting, digits);
      if (found & SOUNDS) sounds++;
      if (found & OUT_OF_PHASE) out++;
      if (found & CANCELLED) cancelled++;
    }
    return [sounds, -out, cancelled, -this.work(digits)];
  }

  private bitsOf(table: SettingTable, setting: number, digits: readonly number[]): number {
    const { strides } = table;
    table.bits ??= new Uint8Array(table.size);
    let at = 0;
    for (let pickup = 0; pickup < digits.length; pickup++) at += digits[pickup]! * strides[pickup]!;
    return table.bits[at]! || this.fill(setting, digits, at);
  }

  /** Whether a setting does something in a combination. @param wanted - bits, of which all are asked for */
  does(setting: number, wanted: number, combination: Combination): boolean {
    return (this.bitsOf(this.tables[setting]!, setting, this.digitsOf(combination)) & wanted) === wanted;
  }

  /** What is the least to be done beside a combination, or in place of some of it, so that a setting does something, whatever the others
   * then do; null when nothing allowed does it.
   * @param wanted - bits, of which all are asked for
   * @param most - combinations that may be tried
   * @param from - stays for pickups that have no part in the setting
   * @returns undefined when that would be too much to try
   */
  cheapest(setting: number, wanted: number, most: number, from: Combination): Combination | null | undefined {
    const table = this.tables[setting]!;
    if (table.size > most) return undefined;
    const start = this.digitsOf(from);
    const efforts = this.choices.map((count, at) => Array.from({ length: count }, (_, digit) => this.effortBetween(at, start[at]!, digit)));
    const digits = start.map((digit, at) => (table.strides[at] === 0 ? digit : 0));
    let best: { readonly effort: readonly number[]; readonly digits: readonly number[] } | null = null;
    for (let tried = 0; tried < table.size; tried++) {
      if ((this.bitsOf(table, setting, digits) & wanted) === wanted) {
        // Of equals rather what leaves less to be done in all.
        const effort = [-efforts.reduce((sum, some, at) => sum + some[digits[at]!]!, 0), -this.work(digits)];
        if (best === null || isBetter(effort, best.effort)) best = { effort, digits: [...digits] };
      }
      for (let at = 0; at < digits.length; at++) {
        if (table.strides[at] === 0) continue;
        if (++digits[at]! < this.choices[at]!) break;
        digits[at] = 0;
      }
    }
    return best === null ? null : this.combination(best.digits);
  }

  private digitsOf({ options, flipped }: Combination): number[] {
    return options.map((option, at) => (flipped[at] === true ? option + this.options[at]!.length : option));
  }

  private effortBetween(pickup: number, from: number, to: number): number {
    const options = this.options[pickup]!;
    const { length } = options;
    const leads = effortBetween(this.loaded.pickups[pickup]!, options[from % length]!, options[to % length]!);
    return leads + (from >= length === to >= length ? 0 : MAGNET_effort);
  }

  /** A combination of another search of the same harness, in which less was allowed, as it stands in this one. */
  taken({ options, flipped }: Combination, other: PlanSearch): Combination {
    const indices = options.map((option, at) =>
      (option === 0 ? 0 : this.options[at]!.findIndex(({ way }, index) => index > 0 && way === other.options[at]![option]!.way)));
    return { options: indices, flipped };
  }

  private workOf({ options, flipped }: Combination): Work[] {
    return options.flatMap((option, at) => {
      const { work } = this.options[at]![option]!;
      return flipped[at] === true ? [...work, magnetWork(this.loaded.pickups[at]!.slot.slot)] : work;
    });
  }

  private work(digits: readonly number[]): number {
    let work = 0;
    for (let at = 0; at < digits.length; at++) {
      const { length } = this.options[at]!;
      work += effortOfAll(this.options[at]![digits[at]! % length]!.work);
      if (digits[at]! >= length) work += MAGNET_effort;
    }
    return work;
  }

  /** Solves a setting for some options, and judges it for every combination of magnets. */
  private fill(setting: number, digits: readonly number[], wanted: number): number {
    const { strides, reached, ...table } = this.tables[setting]!;
    const bits = table.bits as Uint8Array;
    const { wirings, blocks, flipped, shares } = this.scratch;
    let [base, turning] = [0, 0];
    for (let at = 0; at < digits.length; at++) {
      const { length } = this.options[at]!;
      const option = reached[at] === true ? digits[at]! % length : 0;
      wirings[at] = this.wirings[at]![option]!;
      blocks[at] = this.blocks[at]![option]!;
      base += option * strides[at]!;
      if (reached[at] === true && this.choices[at]! > length) turning |= 1 << at;
    }
    this.solver.shares(this.solver.layout(setting, wirings, 'ac'), blocks, shares);
    // Every subset of the magnets that may be turned, from all of them down to none.
    for (let mask = turning; ; mask = (mask - 1) & turning) {
      let entry = base;
      for (let at = 0; at < digits.length; at++) {
        flipped[at] = ((mask >> at) & 1) === 1;
        if (flipped[at]) entry += this.options[at]!.length * strides[at]!;
      }
      bits[entry] = outcome(this.solver.coils, shares, flipped);
      if (mask === 0) return bits[wanted]!;
    }
  }

  /** A combination with all its settings solved. */
  proposal(combination: Combination): Proposal {
    const { harness } = this.loaded;
    const chosen = combination.options.map((option, at) => this.options[at]![option]!);
    const settings = this.solver.circuit.settings.map((positions, at) =>
      settingResult(settingNames(harness, positions), this.solver, this.solution(at, combination.options), combination.flipped));
    return {
      work: this.workOf(combination),
      count: countOf(settings),
      fitted: chosen.map(({ fitted }) => fitted),
      settings,
    };
  }

  private solution(setting: number, options: readonly number[]): Solution {
    const { reached } = this.tables[setting]!;
    const used = options.map((option, at) => (reached[at] === true ? option : 0));
    const key = `${setting}: ${used.join()}`;
    let solution = this.solutions.get(key);
    if (solution === undefined) {
      solution = this.solver.solution(setting, used.map((option, at) => this.wirings[at]![option]!));
      this.solutions.set(key, solution);
    }
    return solution;
  }
}

/** How many settings do what they should. */
export function countOf(settings: readonly SettingResult[]): Count {
  const of = (is: (result: SettingResult) => boolean): number => settings.filter(is).length;
  return {
    settings: settings.length,
    sounds: of(({ state }) => state === 'sounds'),
    in_phase: of(({ in_phase }) => in_phase === true),
    out_of_phase: of(({ in_phase }) => in_phase === false),
    hum_cancelled: of(isCancelled),
  };
}

/** Whether a setting counts as in phase with its hum cancelled. */
export function isCancelled({ in_phase, hum }: Pick<SettingResult, 'in_phase' | 'hum'>): boolean {
  return in_phase === true && hum !== null && hum <= CANCELLED_hum;
}

function outcome(coils: readonly JudgedCoil[], shares: Float64Array, flipped: readonly boolean[]): number {
  const { sounding, in_phase, hum } = judge(coils, shares, flipped);
  return (
    SOLVED |
    (sounding.length > 0 ? SOUNDS : 0) |
    (in_phase === true ? IN_PHASE : 0) |
    (in_phase === false ? OUT_OF_PHASE : 0) |
    (isCancelled({ in_phase, hum }) ? CANCELLED : 0)
  );
}

function isBetter(a: readonly number[], b: readonly number[]): boolean {
  for (let at = 0; at < a.length; at++) if (a[at] !== b[at]) return a[at]! > b[at]!;
  return false;
}

/** Trying out what goes into a harness: each change is solved at once, and can be taken back. */
import { dirname, relative, resolve } from 'node:path';
import { FieldError } from '../files/field-walk.ts';
import type { WireMapFile } from '../files/wiremap-file.ts';
import { fittedLookAlikes } from '../harness/findings.ts';
import { fitPickups, type FittedPickup, type MapWithColours } from '../harness/fitted-pickup.ts';
import type { Fitted, Harness, Way } from '../harness/harness.ts';
import type { LoadedHarness } from '../harness/load-harness.ts';
import { pickupOptions, type Allowance } from '../harness/options.ts';
import { countInWords } from '../harness/plan-text.ts';
import { planning, TooManyCombinations, type PlanProgress, type PlanResult } from '../harness/plan.ts';
import { cellsOf, whichCell } from '../harness/positions-text.ts';
import { positionsOf, type Positions } from '../harness/positions.ts';
import { countOf } from '../harness/search.ts';
import type { SettingResult } from '../harness/setting-result.ts';
import { solderingList } from '../harness/soldering.ts';
import { Solver } from '../harness/solver.ts';
import { turnedInWords, wayInWords } from '../harness/ways.ts';
import { printable } from '../text/printable.ts';
import { turnedFitted, turnedMap } from './turned-magnet.ts';
import type { Curve, FittingView } from './view.ts';

/** Where curves are drawn, hertz: ten points an octave, 100 Hz to 20 kHz. */
export const CURVE_Hz: readonly number[] = Array.from({ length: 78 }, (_, at) => 100 * 200 ** (at / 77));

/** Thousands of combinations that are tried between two looks at the keys. */
const PARTS_at_once = 4;

/** A harness that can be chosen, with what its file says is in it. */
export interface HarnessChoice {
  readonly name: string;
  readonly loaded: LoadedHarness;
  /** Of its file; wire maps are named from its folder. */
  readonly path?: string;
}

/** Where a wire map or a bench record lies. */
export interface MapFile {
  readonly kind: 'map' | 'record';
  readonly path: string;
}

/** A pickup that can be put into a slot. */
export interface PickupChoice extends MapWithColours {
  readonly name: string;
  /** Left out for a pickup that is in stock only. */
  readonly file?: MapFile;
}

/** What is fitted: an entry of the file, its wire map, and the name that a person knows it by. */
interface Content extends MapWithColours {
  readonly fitted: Fitted;
  /** Null where no file holds its wire map. */
  readonly file: MapFile | null;
  readonly name: string;
  readonly isTurned: boolean;
}

/** A wire map to be written beside the harness that names it. */
export interface MapToWrite {
  readonly path: string;
  readonly map: WireMapFile;
}

/** What a change may take back. */
interface State {
  readonly harness: number;
  readonly contents: readonly Content[];
}

export class FittingModel {
  private readonly harnesses: readonly HarnessChoice[];
  private readonly pickups: readonly PickupChoice[];
  private readonly past: State[] = [];
  /** States that a file holds. */
  private readonly kept = new WeakSet<State>();
  private readonly listeners = new Set<() => void>();
  private state: State;
  private loaded: LoadedHarness;
  private positions: Positions;
  private slot = 0;
  private setting = 0;
  private compared: number | null = null;
  private message: string;
  /** The question that was asked last before work is left. */
  private asked = '';
  private search: Generator<PlanProgress, PlanResult> | null = null;

  /** @param harnesses - one at least; the first is shown @param pickups - that may be put into any slot */
  constructor(harnesses: readonly HarnessChoice[], pickups: readonly PickupChoice[]) {
    this.harnesses = harnesses;
    this.pickups = pickups;
    this.state = this.opened(0);
    this.loaded = this.load(this.state);
    this.positions = positionsOf(this.loaded);
    this.kept.add(this.state);
    const faulty = [...this.state.contents, ...pickups].filter(isFault).map(({ name }) => name);
    this.message = faulty.length === 0 ? '' : `${[...new Set(faulty)].join(', ')}: ${FAULT}.`;
  }

  /** Calls whenever something was said from outside. @returns a function that ends it */
  readonly subscribe = (listener: () => void): (() => void) => {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  };

  /** The file of the harness that is shown, or its name where it has none. */
  get shown(): string {
    const { path, name } = this.harnesses[this.state.harness]!;
    return path ?? name;
  }

  /** The harness as it stands now, and what it does: to be printed. */
  result(): { readonly loaded: LoadedHarness; readonly positions: Positions; readonly turned: readonly string[] } {
    const turned = this.state.contents.filter(({ isTurned }) => isTurned).map(({ fitted: { slot } }) => slot);
    return { loaded: this.loaded, positions: this.positions, turned };
  }

  /** The harness as it stands now, as a file of it would say.
   * @param path - of that file, from whose folder wire maps are named
   * @returns null where a pickup has no file that could be named
   */
  asFile(path: string): Harness | null {
    return this.state.contents.some(({ file }) => file === null) ? null : this.asFiles(path, () => path).harness;
  }

  /** The same with wire maps of its own for pickups that no file holds. @param mapPath - where the map of a slot is to lie */
  asFiles(path: string, mapPath: (slot: string) => string): { readonly harness: Harness; readonly maps: readonly MapToWrite[] } {
    const maps: MapToWrite[] = [];
    const fitted = this.state.contents.map((content): Fitted => {
      const { fitted: own, isTurned } = content;
      const { map: _, record: __, ...rest } = isTurned ? turnedFitted(own) : own;
      let { file } = content;
      if (file === null) {
        // As it was measured: a magnet that is turned here only is still as it was.
        const { map, colours } = isTurned ? turnedMap(content) : content;
        file = { kind: 'map', path: mapPath(own.slot) };
        const clips = [...colours].map(([clip, colour]) => (colour === undefined ? { clip } : { clip, colour }));
        maps.push({ path: file.path, map: { ...map, clips } });
      }
      return { ...rest, [file.kind]: relative(dirname(path), file.path) || file.path };
    });
    return { harness: { ...this.loaded.harness, fitted }, maps };
  }

  /** A file holds it as it stands. */
  isKept(): void {
    this.kept.add(this.state);
  }

  /** Whether something was changed here that no file holds. */
  get isUnsaved(): boolean {
    return !this.kept.has(this.state);
  }

  /** Whether it may be left; work that no file holds is asked about first. @param how - it could be kept */
  mayLeave(how: string): boolean {
    if (!this.isUnsaved || (this.asked !== '' && this.message === this.asked)) return true;
    this.asked = `What was changed here is in no file: ${how}; the same key again leaves it.`;
    this.tell(this.asked);
    return false;
  }

  /** Tells the person something that was done outside. */
  tell(message: string): void {
    this.message = message;
    for (const listener of this.listeners) listener();
  }

  /** Shows another setting. @param by - 1 next, -1 the one before */
  moveSetting(by: number): void {
    const { length } = this.positions.settings;
    this.setting = Math.max(0, Math.min(length - 1, this.setting + by));
    this.message = '';
  }

  /** Changes another slot from now on. */
  moveSlot(by: number): void {
    const { length } = this.loaded.harness.slots;
    this.slot = (this.slot + by + length) % length;
    this.message = '';
  }

  /** Keeps this setting to be compared with others; the same again lets go of it. */
  compare(): void {
    this.compared = this.compared === this.setting ? null : this.setting;
    this.message = this.compared === null ? 'One curve again.' : 'Kept: choose another setting to see both curves.';
  }

  /** Another harness of those that were named. */
  nextHarness(): void {
    if (this.harnesses.length === 1) {
      this.message = 'There is one harness only: name more on the command line.';
      return;
    }
    const opened = this.opened((this.state.harness + 1) % this.harnesses.length);
    this.kept.add(opened);
    this.take(opened, 'Another harness.');
    this.slot = this.setting = 0;
    this.compared = null;
  }

  /** Another pickup into the slot; it is wired as its first way that fits. */
  nextPickup(): void {
    const slot = this.slotName();
    if (this.pickups.length === 0) {
      this.message = 'No pickups were named: name wire maps or bench records on the command line.';
      return;
    }
    const now = this.content();
    const at = now === undefined ? -1 : this.pickups.findIndex(({ name }) => name === now.name);
    const { name, map, colours, file = null } = this.pickups[(at + 1) % this.pickups.length]!;
    const content: Content = { fitted: { slot, map: name }, file, name, map, colours, isTurned: false };
    const contents = now === undefined
      ? [...this.state.contents, content] : this.state.contents.map((one) => (one === now ? content : one));
    this.take({ ...this.state, contents }, `${slot}: ${name}${isFault(content) ? `, ${FAULT}` : ''}.`);
  }

  /** Hot and ground of the slot's pickup exchanged. */
  exchange(): void {
    const pickup = this.pickup();
    if (pickup === undefined) return;
    const option = pickupOptions(this.loaded.harness, pickup, new Set())
      .find(({ work: [step] }) => step?.change === 'exchange');
    if (option !== undefined) this.rewire(option.fitted, option.work[0]!.text);
    else if (pickup.way === null) this.message = `${pickup.slot.slot}: its leads make no way that has a hot and a ground end; w wires it anew.`;
    else this.message = `${pickup.slot.slot}: cannot be exchanged, an end that is tied to its frame would leave ground.`;
  }

  /** The other coil grounded, where coils are in series. */
  nextOrder(): void {
    this.nextWay('its coils allow no other order as it is wired', (way, now) =>
      way.kind === 'series' && now?.kind === 'series' && (way.turned ?? false) === (now.turned ?? false));
  }

  /** The next of all the ways of the slot's pickup. */
  nextOfAll(): void {
    this.nextWay('no other way of it fits', () => true);
  }

  private nextWay(none: string, isMeant: (way: Way, now: Way | null) => boolean): void {
    const pickup = this.pickup();
    if (pickup === undefined) return;
    const key = ({ kind, coils, turned = false }: Way): string => `${kind} ${coils.join()} ${turned}`;
    const ways = pickup.fitting.map(({ way }) => way).filter((way) => isMeant(way, pickup.way));
    const at = pickup.way === null ? -1 : ways.findIndex((way) => key(way) === key(pickup.way!));
    const next = ways[(at + 1) % ways.length];
    if (next === undefined || (pickup.way !== null && key(next) === key(pickup.way))) {
      this.message = `${pickup.slot.slot}: ${none}.`;
      return;
    }
    const { leads: _, way: __, ...rest } = pickup.fitted;
    this.rewire({ ...rest, way: next }, `${pickup.slot.slot}: ${wayInWords(next, pickup.coils)}.`);
  }

  /** The magnet of the slot's pickup turned over. */
  turnMagnet(): void {
    const now = this.content();
    if (now === undefined) {
      this.message = `${this.slotName()} is empty.`;
      return;
    }
    if (now.map.coils.some(({ plus, ohm }) => ohm !== null && plus === null)) {
      this.message = `${this.slotName()}: plus and minus of a coil are not known, so what a turned magnet does is not either.`;
      return;
    }
    const after: Content = { ...now, ...turnedMap(now), fitted: turnedFitted(now.fitted), isTurned: !now.isTurned };
    this.take({ ...this.state, contents: this.state.contents.map((one) => (one === now ? after : one)) },
      `${this.slotName()}: magnet turned over; its plus and minus have exchanged.`);
  }

  /** Looks for the best plan, to take it over; a long search goes on by `goOn`. @param allowed - what may be done beside exchanging leads */
  takeBest(allowed: ReadonlySet<Allowance>): void {
    this.search = planning(this.loaded, allowed);
    this.goOn();
  }

  /** What was said last; during a search it alone changes. */
  get said(): string {
    return this.message;
  }

  /** Whether a search is under way. */
  get isSearching(): boolean {
    return this.search !== null;
  }

  /** A part of the search that is under way, some tens of milliseconds. */
  goOn(): void {
    if (this.search === null) return;
    try {
      for (let part = 0; part < PARTS_at_once; part++) {
        const { done, value } = this.search.next();
        if (done === true) {
          this.search = null;
          this.takeOver(value);
          return;
        }
        this.message = `Tried ${value.tried} of ${value.of} combinations; any key stops.`;
      }
    } catch (error) {
      this.search = null;
      if (!(error instanceof TooManyCombinations)) throw error;
      this.message = `Too much to try: ${error.message}.`;
    }
  }

  /** Ends the search that is under way; everything stays as it is. */
  stop(): void {
    if (this.search === null) return;
    this.search = null;
    this.message = 'Stopped: nothing was changed.';
  }

  private takeOver(plan: PlanResult): void {
    const [best] = plan.document.proposals;
    if (best!.work.length === 0) {
      this.message = 'Nothing that is allowed makes it better.';
      return;
    }
    const { flipped } = plan.combinations[0]!;
    const contents = this.state.contents.map((one, at): Content => {
      const content = { ...one, fitted: best!.fitted[at]! };
      return flipped[at] === true
        ? { ...content, ...turnedMap(content), fitted: turnedFitted(content.fitted), isTurned: !content.isTurned } : content;
    });
    this.take({ ...this.state, contents }, `Taken over: ${best!.work.map(({ text }) => text).join('; ')}.`);
  }

  /** Takes the last change back. */
  undo(): void {
    const before = this.past.pop();
    if (before === undefined) {
      this.message = 'Nothing to take back.';
      return;
    }
    const isOther = before.harness !== this.state.harness;
    this.set(before);
    if (isOther) this.slot = this.setting = 0;
    if (isOther) this.compared = null;
    this.message = 'Taken back.';
  }

  view(): FittingView {
    const { harness, pickups } = this.loaded;
    const { settings } = this.positions;
    const choice = this.harnesses[this.state.harness]!;
    const before = countOf(positionsOf(this.load(this.opened(this.state.harness))).settings);
    const now = countOf(settings);
    const isSame = JSON.stringify(before) === JSON.stringify(now);
    return {
      title: harness.title ?? choice.name,
      slots: harness.slots.map(({ slot }, at) => ({ text: this.slotInWords(slot), isActive: at === this.slot })),
      switches: harness.switches.map(({ id }) => id).join('; ') || 'setting',
      rows: settings.map((result, at) => ({
        cells: [Object.values(result.setting).join('; ') || 'any', soundsInShort(result, pickups), ...cellsOf(result, pickups).slice(1)],
        isChosen: at === this.setting,
        isCompared: at === this.compared,
      })),
      count: `${countInWords(now)}${isSame ? '' : `; in the file ${countInWords(before)}`}.`,
      curves: this.curves(),
      message: this.message,
      hasOthers: this.harnesses.length > 1,
      hasPickups: this.pickups.length > 0,
      list: this.list(),
    };
  }

  private curves(): Curve[] {
    const { harness, pickups } = this.loaded;
    const solver = new Solver(harness, pickups);
    const wirings = solver.wirings(pickups);
    const shown = this.compared === null || this.compared === this.setting ? [this.setting] : [this.setting, this.compared];
    return shown.map((at) => ({
      label: whichCell(this.positions.settings[at]!.setting),
      decibels: solver.curve(at, wirings, CURVE_Hz),
    }));
  }

  private list(): FittingView['list'] {
    const { pickups } = this.loaded;
    const warned = [
      ...this.state.contents.filter(isFault).map(({ fitted: { slot }, name, map: { findings = [] } }) => {
        const why = findings.filter(({ severity }) => severity === 'fault').map(({ text }) => text);
        return [`${slot}, ${name}: ${FAULT}.`, ...why].join(' ');
      }),
      ...this.positions.findings.map(({ severity, text }) => `${severity}: ${text}`),
      ...fittedLookAlikes(pickups).map(({ text }) => `look-alikes: ${text}`),
    ];
    const joints = solderingList(this.loaded);
    return [
      ...warned.map((text) => ({ text, indent: 2 })),
      ...joints.map(({ number, pickup, lead, text }) => ({ text: `${number}. ${pickups[pickup]!.slot.slot}, ${lead}: ${text}`, indent: 4 })),
    ];
  }

  private slotInWords(slot: string): string {
    const content = this.state.contents.find(({ fitted }) => fitted.slot === slot);
    if (content === undefined) return `${slot}: empty`;
    const { way, coils } = this.loaded.pickups.find((one) => one.slot.slot === slot)!;
    return `${slot}: ${content.name}, ${isFault(content) ? `${FAULT}, ` : ''}${content.isTurned ? 'magnet turned, ' : ''}${way === null ? 'leads as in the file' : wayInShort(way, coils)}`;
  }

  private slotName(): string {
    return this.loaded.harness.slots[this.slot]!.slot;
  }

  private content(): Content | undefined {
    return this.state.contents.find(({ fitted }) => fitted.slot === this.slotName());
  }

  /** The slot's pickup; an empty slot is told. */
  private pickup(): FittedPickup | undefined {
    const found = this.loaded.pickups.find(({ slot }) => slot.slot === this.slotName());
    if (found === undefined) this.message = `${this.slotName()} is empty.`;
    return found;
  }

  private rewire(fitted: Fitted, message: string): void {
    const now = this.content();
    this.take({ ...this.state, contents: this.state.contents.map((one) => (one === now ? { ...one, fitted } : one)) }, message);
  }

  /** Goes over to another state, if it can be wired. */
  private take(state: State, message: string): void {
    const before = this.state;
    try {
      this.set(state);
    } catch (error) {
      if (!(error instanceof FieldError)) throw error;
      this.message = `Not possible: ${error.message}.`;
      return;
    }
    this.past.push(before);
    this.message = message;
  }

  private set(state: State): void {
    const loaded = this.load(state);
    this.positions = positionsOf(loaded);
    this.loaded = loaded;
    this.state = state;
  }

  private opened(harness: number): State {
    const { loaded: { pickups }, path } = this.harnesses[harness]!;
    const contents = pickups.map(({ fitted, map, colours }): Content => {
      const name = (fitted.map ?? fitted.record)!;
      const kind = fitted.record === undefined ? 'map' : 'record';
      const file = path === undefined ? null : { kind, path: resolve(dirname(path), name) } as const;
      return { fitted, file, name: pickupName(name), map, colours, isTurned: false };
    });
    return { harness, contents };
  }

  private load({ harness: at, contents }: State): LoadedHarness {
    const harness: Harness = { ...this.harnesses[at]!.loaded.harness, fitted: contents.map(({ fitted }) => fitted) };
    return { harness, pickups: fitPickups(harness, contents) };
  }
}

/** What is said of a pickup that must not go into a guitar, on this screen as on the bench. */
const FAULT = 'FAULT: do not fit';

function isFault({ map: { verdict } }: MapWithColours): boolean {
  return verdict === 'fault';
}

/** What a person calls a pickup by its file: `front` for `maps/front.wiremap.json`. */
export function pickupName(path: string): string {
  return printable(path.split(/[\\/]/).at(-1)!.replace(/(\.(wiremap|bench))?\.json$/, ''), 40);
}

/** Coils from ground to hot. */
function wayInShort(way: Way, known: FittedPickup['coils']): string {
  const { kind, coils, turned = false } = way;
  const order = (turned ? [...coils].reverse() : coils).join(' + ');
  const how = kind === 'series' ? ' in series from ground' : kind === 'parallel' ? ' in parallel' : ' alone';
  return `${order}${how}${turnedInWords(way, known)}`;
}

/** Shares nearer to each other than this are told as one. */
const NEAR = 0.05;

/** What sounds, a pickup whose coils all give the same by its slot alone: `front 51%; rear upper 48%`. */
function soundsInShort({ sounding, state }: SettingResult, pickups: readonly FittedPickup[]): string {
  if (state !== 'sounds') return state === 'shorted' ? 'nothing: shorted' : 'nothing';
  return pickups.flatMap(({ slot: { slot }, coils }) => {
    const own = sounding.filter((one) => one.slot === slot);
    const shares = own.map(({ share }) => share);
    const percent = (share: number): string => `${Math.round(100 * share)}%`;
    if (own.length === 0) return [];
    const mean = shares.reduce((sum, share) => sum + share, 0) / own.length;
    if (own.length === coils.length && Math.max(...shares) - Math.min(...shares) < NEAR) return [`${slot} ${percent(mean)}`];
    return own.map(({ coil, share }) => {
      const place = coils.find(({ name }) => name === coil)!.place ?? coil;
      return `${slot} ${place} ${percent(share)}`;
    });
  }).join('; ');
}

/**
 * Invented pickups, drawn from one seed: every family of lead counts, sound and faulty, with the hands that touch them.
 *
 * Nothing here is taken from a maker's table: resistances, inductances and hands lie in the ranges that are common
 * practice in the trade (no published source), colours and clip order are chance,
 * but for colours that could be taken for a maker's.
 */
import { RandomStream } from '../../host/src/virtual-bench/random.ts';
import type {
  Pickup,
  PickupCoil,
  PickupCoupling,
  PickupFault,
  PickupLead,
  PickupTouch,
  PolePiece,
} from '../../host/src/pickup/pickup.ts';
import { ownColours } from '../house/own-colours.ts';
import { inventFault, type FaultKind } from './faults.ts';
import { round } from './round.ts';

/** How a pickup's leads are brought out. */
export type Family =
  | 'single'
  | 'series inside'
  | 'parallel inside'
  | 'tapped'
  | 'pair, link brought out'
  | 'pair, four leads'
  | 'pair, link twisted'
  | 'pair, one tap'
  | 'two tapped coils'
  | 'three coils, six leads'
  | 'three coils in series'
  | 'three coils, link and one'
  | 'three coils, star'
  | 'three coils, ring'
  | 'stacked';

/** One of a lot, with what the generator knows of it beside the pickup itself. */
export interface LotPickup {
  /** Within the lot, from 0. */
  readonly number: number;
  readonly family: Family;
  readonly pickup: Pickup;
  readonly faults: readonly FaultKind[];
  /** What the hands do wrong: one wrong place, or one touch of nothing. */
  readonly slip: 'none' | 'wrong place' | 'nothing touched';
}

export type Hands = 'usual' | 'faint' | 'barely';

/** What kind of lot is drawn. */
export interface LotOptions {
  /** `faint`: touches with a matched-filter d from 1 to 8 instead of 0.2 to 15 mWb; `barely`: from 8 to 14. */
  readonly hands?: Hands;
  /** `sound`: no faults; `any`: about three in eight have one. */
  readonly health?: 'sound' | 'any';
}

const FAMILIES: readonly (readonly [Family, number])[] = [
  ['single', 14],
  ['series inside', 12],
  ['parallel inside', 5],
  ['tapped', 8],
  ['pair, link brought out', 11],
  ['pair, four leads', 20],
  ['pair, link twisted', 4],
  ['pair, one tap', 4],
  ['two tapped coils', 4],
  ['three coils, six leads', 4],
  ['three coils in series', 4],
  ['three coils, link and one', 2],
  ['three coils, star', 2],
  ['three coils, ring', 1],
  ['stacked', 5],
];

const COLOURS = 'BK BN RD OG YE GN BU VT GY WH PK TQ GNYE RDBU GYPK'.split(' ');
const PIECES: readonly PolePiece[] = ['screw', 'slug', 'rod', 'blade', 'other'];

/** Draws pickup `number` of the lot that `seed` names; the others need not be drawn. */
export function inventPickup(seed: number, number: number, options: LotOptions = {}): LotPickup {
  const chance = new RandomStream(seed + Math.imul(number, 0x01000193), 'lot');
  const family = weighted(chance, FAMILIES);
  const draft = new Draft(chance, family);
  draft.addLeads();
  const faultKinds: FaultKind[] = [];
  const faults: PickupFault[] = [];
  if (options.health !== 'sound' && chance.unit() < 0.375) {
    const fault = inventFault(chance, draft);
    if (fault !== null) {
      faultKinds.push(fault.kind);
      faults.push(fault.fault);
    }
  }
  // From a stream of their own, so that the rest of each pickup is what it is without them.
  const loose = draft.loosen(
    new RandomStream(seed + Math.imul(number, 0x01000193), 'loose leads'),
    options.health !== 'sound' && faults.length === 0,
  );
  if (loose === 'torn') faultKinds.push('torn lead');
  const interference = {
    hum_Hz: chance.unit() < 0.6 ? 50 : 60,
    hum_V: round(chance.unit() < 0.1 ? 0 : chance.betweenLog(1e-4, 8e-3)),
    noise_V: round(chance.betweenLog(5e-5, 1e-3)),
  };
  const { touches, slip } = inventTouches(
    chance,
    draft,
    options.hands ?? 'usual',
    interference.noise_V,
  );
  const pickup: Pickup = {
    format: 'pickup/1',
    title: `invented: ${family}`,
    temperature_C: round(chance.between(12, 32)),
    coils: draft.coils,
    couplings: draft.couplings,
    leads: draft.leads,
    faults,
    touches,
    magnet_readings: chance.unit() < 0.8,
    interference,
  };
  return { number, family, pickup, faults: faultKinds, slip };
}

/** A pickup while it is being invented. */
export class Draft {
  readonly coils: PickupCoil[] = [];
  readonly couplings: PickupCoupling[] = [];
  readonly leads: PickupLead[] = [];
  readonly family: Family;
  /** A chassis lead that is not tied to any coil. */
  freeChassis = false;
  private readonly chance: RandomStream;
  private readonly nodes: string[] = [];
  /** Colours that no lead has yet, in random order. */
  private unused: readonly string[] = [];

  constructor(chance: RandomStream, family: Family) {
    this.chance = chance;
    this.family = family;
    this.addCoils();
  }

  private addCoils(): void {
    const { chance, family } = this;
    const count = coilCount(family);
    const stacked = family === 'stacked';
    const places = placesOf(count, stacked, chance);
    const single = count === 1;
    const ohm = single ? chance.betweenLog(2500, 16000) : chance.betweenLog(2500, 6500);
    const henry = ohm * (single ? chance.betweenLog(3e-4, 9e-4) : chance.betweenLog(3.5e-4, 8e-4));
    const mismatched = !single && chance.unit() < 0.07;
    const equalPoles = !single && chance.unit() < 0.08;
    const firstPole = chance.unit() < 0.5;
    // The same baseplate lies under all, and like coils lose alike: 10 % apart, one sigma; no bare coil below 100 kilohm.
    const loss_ohm = chance.unit() < 0.2 ? null : chance.betweenLog(1.15e5, 1e6);
    for (let i = 0; i < count; i++) {
      // Turns scale R once and L twice; the pole piece moves L alone by a few percent.
      const turns = mismatched && i > 0 ? chance.between(1.35, 1.8) : chance.between(0.97, 1.03);
      const wire = chance.between(0.98, 1.02);
      const north = equalPoles || stacked ? firstPole : firstPole === (i % 2 === 0);
      const cw = chance.unit() < 0.5;
      this.coils.push({
        id: `c${i + 1}`,
        from: `n${2 * i}`,
        to: `n${2 * i + 1}`,
        resistance_ohm_20C: round(ohm * turns * wire),
        inductance_H: round(henry * turns * turns * chance.between(0.97, 1.03)),
        capacitance_F: round(chance.betweenLog(4e-11, 2.5e-10)),
        ...(loss_ohm === null ? {} : { loss_ohm: round(loss_ohm * chance.betweenLog(0.884, 1.131)) }),
        winding: cw ? 'cw' : 'ccw',
        pole: north ? 'N' : 'S',
        place: places[i]!,
        pole_piece: PIECES[chance.below(PIECES.length)]!,
      });
    }
    const near = chance.between(0.05, 0.2);
    for (let i = 0; i < count; i++) {
      for (let j = i + 1; j < count; j++) {
        const k = stacked
          ? -chance.between(0.25, 0.95)
          : j === i + 1
            ? near
            : near * chance.between(0.2, 0.5);
        this.couplings.push({ a: `c${i + 1}`, b: `c${j + 1}`, k: round(k) });
      }
    }
  }

  /** Decides which nodes come out, ties coils together and clips the leads on in random order. */
  addLeads(): void {
    const { chance, family } = this;
    const tap = (coil: string): string => `${coil}@${round(chance.between(0.15, 0.85))}`;
    switch (family) {
      case 'single':
        this.nodes.push('n0', 'n1');
        break;
      case 'series inside':
        this.chain(2);
        this.nodes.push(this.start(0), this.end(1));
        break;
      case 'parallel inside':
        this.parallel();
        this.nodes.push(this.start(0), this.end(0));
        break;
      case 'tapped': {
        this.nodes.push('n0', 'n1', tap('c1'));
        if (chance.unit() < 0.3) this.nodes.push(this.secondTap());
        break;
      }
      case 'pair, link brought out':
        this.chain(2);
        this.nodes.push(this.start(0), this.end(0), this.end(1));
        break;
      case 'pair, four leads':
        this.nodes.push('n0', 'n1', 'n2', 'n3');
        break;
      case 'pair, link twisted':
        this.chain(2);
        this.nodes.push(this.start(0), this.end(0), this.end(0), this.end(1));
        break;
      case 'pair, one tap':
        this.nodes.push('n0', 'n1', 'n2', 'n3', tap(chance.unit() < 0.5 ? 'c1' : 'c2'));
        break;
      case 'two tapped coils':
        this.nodes.push('n0', 'n1', 'n2', 'n3', tap('c1'), tap('c2'));
        break;
      case 'three coils, six leads':
        this.nodes.push('n0', 'n1', 'n2', 'n3', 'n4', 'n5');
        break;
      case 'three coils in series':
        this.chain(3);
        this.nodes.push(this.start(0), this.end(0), this.end(1), this.end(2));
        break;
      case 'three coils, link and one':
        this.chain(2);
        this.nodes.push(this.start(0), this.end(0), this.end(1), 'n4', 'n5');
        break;
      case 'three coils, star':
        for (let i = 1; i < 3; i++) this.weld(this.end(0), this.anyEnd(i));
        this.nodes.push(
          this.start(0),
          this.end(0),
          this.other(1, this.end(0)),
          this.other(2, this.end(0)),
        );
        break;
      case 'three coils, ring': {
        this.chain(3);
        this.weld(this.start(0), this.end(2));
        this.nodes.push(this.start(0), this.end(0), this.end(1));
        break;
      }
      case 'stacked':
        this.stackedNodes();
    }
    this.clipOn();
  }

  private stackedNodes(): void {
    const way = this.chance.unit();
    if (way < 0.6) {
      this.nodes.push('n0', 'n1', 'n2', 'n3');
      return;
    }
    this.chain(2);
    this.nodes.push(this.start(0), this.end(1));
    if (way < 0.8) this.nodes.push(this.end(0));
  }

  private secondTap(): string {
    const first = Number(this.nodes[2]!.slice(3));
    for (;;) {
      const fraction = round(this.chance.between(0.1, 0.9));
      if (Math.abs(fraction - first) > 0.05) return `c1@${fraction}`;
    }
  }

  /** Frame, shield and clips: at most six leads, BARE or coloured, tied to a coil or free. */
  private clipOn(): void {
    const { chance } = this;
    const chosen = this.nodes.map((node) => ({ node, bare: false }));
    const drawn = chance.unit();
    if (chosen.length < 6 && drawn < 0.62) {
      if (drawn < 0.42) {
        chosen.push({ node: 'chassis', bare: true });
        this.freeChassis = true;
      } else if (drawn < 0.54) {
        // The frame is made to one end of the winding, with or without a drain wire of its own.
        const end = this.nodes[chance.below(2)]!;
        this.weld(end, 'chassis');
        for (const lead of chosen) if (lead.node === end) lead.node = 'chassis';
        chosen.push({ node: 'chassis', bare: true });
      } else {
        // A lead that hangs on the frame only, or is broken: nothing tells which.
        chosen.push({ node: 'chassis', bare: false });
        this.freeChassis = true;
      }
    }
    const clips = shuffled(chance, [1, 2, 3, 4, 5, 6]).slice(0, chosen.length);
    // Most people begin at clip 1; some do not.
    if (chance.unit() < 0.7)
      clips.splice(
        0,
        clips.length,
        ...shuffled(
          chance,
          clips.map((_, i) => i + 1),
        ),
      );
    const colours = ownColours(shuffled(chance, COLOURS));
    chosen.forEach((lead, i) => {
      this.leads.push({
        clip: clips[i]!,
        colour: lead.bare ? 'BARE' : colours[i]!,
        node: lead.node,
      });
    });
    this.unused = colours.slice(chosen.length);
    this.leads.sort((a, b) => a.clip - b.clip);
  }

  /** Makes one lead in nine lead nowhere: a spare conductor of the cable or a drain that is not connected, which harms
   * nothing, or a lead that has come off inside.
   * @param mayTear - whether a lead may come off
   */
  loosen(chance: RandomStream, mayTear: boolean): 'none' | 'spare' | 'torn' {
    const drawn = chance.unit();
    const at = chance.below(this.leads.length);
    if (drawn < 0.05) {
      if (!mayTear) return 'none';
      this.leads[at] = { ...this.leads[at]!, node: null };
      return 'torn';
    }
    if (drawn >= 0.12 || this.leads.length === 6) return 'none';
    const free = [1, 2, 3, 4, 5, 6].filter((clip) => this.leads.every((lead) => lead.clip !== clip));
    const bare = chance.unit() < 0.2 && this.leads.every(({ colour }) => colour !== 'BARE');
    this.leads.push({ clip: free[chance.below(free.length)]!, colour: bare ? 'BARE' : this.unused[0]!, node: null });
    this.leads.sort((a, b) => a.clip - b.clip);
    return 'spare';
  }

  /** Coils 0 to count-1 in series; nine in ten so that the string signals add. */
  private chain(count: number): void {
    const { chance } = this;
    let reverse = chance.unit() < 0.5;
    for (let i = 1; i < count; i++) {
      const out = reverse !== positiveAtTo(this.coils[i - 1]!) ? 'to' : 'from';
      const aiding = chance.unit() < 0.9;
      if (!aiding) reverse = !reverse;
      const into = reverse !== positiveAtTo(this.coils[i]!) ? 'from' : 'to';
      this.chainEnds[i - 1]![1] = this.coils[i - 1]![out];
      if (i === 1) this.chainEnds[0]![0] = this.coils[0]![out === 'to' ? 'from' : 'to'];
      const joint = this.coils[i - 1]![out];
      const old = this.coils[i]![into];
      this.weld(joint, old);
      this.chainEnds[i]![0] = joint;
      this.chainEnds[i]![1] = this.coils[i]![into === 'to' ? 'from' : 'to'];
    }
  }

  private parallel(): void {
    const { chance } = this;
    const aiding = chance.unit() < 0.92;
    const same = positiveAtTo(this.coils[0]!) === positiveAtTo(this.coils[1]!);
    const straight = same === aiding;
    const second = this.coils[1]!;
    this.weld(this.coils[0]!.from, straight ? second.from : second.to);
    this.weld(this.coils[0]!.to, straight ? second.to : second.from);
  }

  /** Two ends of each coil in the order in which the chain runs. */
  private readonly chainEnds: [string, string][] = [
    ['n0', 'n1'],
    ['n2', 'n3'],
    ['n4', 'n5'],
  ];

  private start(coil: number): string {
    return this.chainEnds[coil]![0];
  }

  private end(coil: number): string {
    return this.chainEnds[coil]![1];
  }

  private anyEnd(coil: number): string {
    return this.chance.unit() < 0.5 ? this.coils[coil]!.from : this.coils[coil]!.to;
  }

  private other(coil: number, node: string): string {
    const { from, to } = this.coils[coil]!;
    return from === node ? to : from;
  }

  /** Makes two nodes one: `gone` is renamed to `kept`, or to the frame when one of them is that. */
  private weld(a: string, b: string): void {
    const [kept, gone] = b === 'chassis' ? [b, a] : [a, b];
    this.coils.forEach((coil, i) => {
      if (coil.from !== gone && coil.to !== gone) return;
      this.coils[i] = {
        ...coil,
        from: coil.from === gone ? kept : coil.from,
        to: coil.to === gone ? kept : coil.to,
      };
    });
    for (const ends of this.chainEnds)
      for (const i of [0, 1] as const) if (ends[i] === gone) ends[i] = kept;
  }
}

/** Whether steel that arrives makes `to` positive: (cw, N) and (ccw, S). */
export function positiveAtTo(coil: PickupCoil): boolean {
  return (coil.winding === 'cw') === (coil.pole === 'N');
}

/** The person's places, in the order in which the bench asks for them. */
export function placesInOrder(coils: readonly PickupCoil[]): string[] {
  return [...new Set(coils.map((coil) => coil.place))];
}

/** The coil under a place that steel can reach: the first listed one. */
export function coilAtPlace(coils: readonly PickupCoil[], place: string): PickupCoil {
  return coils.find((coil) => coil.place === place)!;
}

function inventTouches(
  chance: RandomStream,
  draft: Draft,
  hands: Hands,
  noise_V: number,
): { touches: PickupTouch[]; slip: LotPickup['slip'] } {
  const places = placesInOrder(draft.coils);
  const stacked = draft.family === 'stacked';
  // One person's hand: tenfold between people, twofold between one person's touches.
  const hand_Wb = chance.betweenLog(6e-4, 6e-3);
  const crosstalk = round(stacked ? chance.between(0.3, 0.9) : chance.between(0.04, 0.12));
  const peakMost_V = chance.unit() < 0.05 ? 2.5 : 1.2;
  const touches: PickupTouch[] = [];
  for (let ask = 0; ask < 2 * places.length; ask++) {
    // Steel reaches only the upper one of stacked coils, whatever place is asked for.
    const coil = stacked ? draft.coils[0]! : coilAtPlace(draft.coils, places[ask % places.length]!);
    let rise_s = chance.betweenLog(0.002, 0.02);
    let flux_Wb = Math.min(0.015, Math.max(2e-4, hand_Wb * chance.betweenLog(0.5, 2)));
    if (hands !== 'usual') {
      // The raised cosine's matched-filter d is (pi flux / 2T) sqrt(rate T / 2) / noise (physics of the touch, 10 kHz).
      const d = hands === 'faint' ? chance.between(1, 8) : chance.between(8, 14);
      flux_Wb = (d * noise_V * 2 * rise_s) / (Math.PI * Math.sqrt((1e4 * rise_s) / 2));
    } else {
      rise_s = Math.max(rise_s, (Math.PI * flux_Wb) / (2 * peakMost_V));
    }
    touches.push({
      coil: coil.id,
      flux_Wb: round(flux_Wb),
      rise_s: round(rise_s),
      hold_s: round(chance.betweenLog(0.1, 1)),
      fall_s: round(
        Math.max(chance.betweenLog(0.003, 0.03), (Math.PI * flux_Wb) / (2 * peakMost_V)),
      ),
      bounces: hands !== 'usual' || chance.unit() < 0.5 ? 0 : 1 + chance.below(3),
      crosstalk,
    });
  }
  const slipDrawn = hands !== 'usual' ? 1 : chance.unit();
  let slip: LotPickup['slip'] = 'none';
  const at = chance.below(touches.length);
  if (slipDrawn < 0.05 && places.length > 1 && !stacked) {
    slip = 'wrong place';
    const wrong = places[(at + 1 + chance.below(places.length - 1)) % places.length]!;
    touches[at] = { ...touches[at]!, coil: coilAtPlace(draft.coils, wrong).id };
  } else if (slipDrawn >= 0.05 && slipDrawn < 0.09) {
    slip = 'nothing touched';
    touches[at] = { ...touches[at]!, coil: null };
  }
  return { touches, slip };
}

function coilCount(family: Family): number {
  if (family === 'single' || family === 'tapped') return 1;
  return family.startsWith('three') ? 3 : 2;
}

function placesOf(count: number, stacked: boolean, chance: RandomStream): string[] {
  if (stacked) return chance.unit() < 0.8 ? ['single', 'single'] : ['top', 'bottom'];
  if (count === 1) return ['single'];
  return count === 2 ? ['upper', 'lower'] : ['upper', 'middle', 'lower'];
}

function weighted<T>(chance: RandomStream, choices: readonly (readonly [T, number])[]): T {
  let left = chance.unit() * choices.reduce((sum, [, weight]) => sum + weight, 0);
  for (const [choice, weight] of choices) {
    left -= weight;
    if (left < 0) return choice;
  }
  return choices[choices.length - 1]![0];
}

/** A copy in random order (Fisher and Yates). */
export function shuffled<T>(chance: RandomStream, items: readonly T[]): T[] {
  const result = [...items];
  for (let i = result.length - 1; i > 0; i--) {
    const j = chance.below(i + 1);
    [result[i], result[j]] = [result[j]!, result[i]!];
  }
  return result;
}

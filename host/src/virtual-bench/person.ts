/**
 * The hand at the virtual bench: it sees the tester's lights and nothing else, touches the place
 * they ask for as the pickup's file says, holds the magnet probe or skips it with the button.
 */
import type { FrontEnd } from './front-end.ts';
import { Guitar } from './guitar.ts';
import type { Pickup, PickupCoil, PolePiece } from '../pickup/pickup.ts';
import type { RandomStream } from './random.ts';

/** Patterns of the lights that a person acts on, numbered as the logic numbers them. */
const LIGHT_TOUCH = 3;
const LIGHT_MAGNET = 5;

/** Field at the pole face, tesla: alloy rods, steel over a bar magnet, blades (from memory). */
const FACE_FIELD_T: Readonly<Record<PolePiece, readonly [number, number]>> = {
  rod: [0.05, 0.11],
  screw: [0.015, 0.05],
  slug: [0.015, 0.05],
  blade: [0.03, 0.07],
  other: [0.01, 0.04],
};
/** From reading the lights to the first movement, seconds. */
const REACTION_s = [0.3, 0.6] as const;
/** Patience with lights that ask on after what they asked for was done. */
const UNHEARD_s = 10;
/** The same at a guitar's jack, where most places are silent in most settings. */
const UNHEARD_AT_JACK_s = 2;
/** Between lifting and the next movement. */
const PAUSE_s = 0.2;

/** Distinct places of a pickup, in the order of its coils: the order in which they are asked for. */
export function placesOf(pickup: Pickup): string[] {
  return [...new Set(pickup.coils.map(({ place }) => place))];
}

/** What the person will do next, at a simulated time. */
interface Intention {
  readonly time_s: number;
  readonly act: () => void;
}

/** A person whose hands are played by the pickup's file. */
export class Person {
  /** Called when the person presses the button. */
  onPress: () => void = () => {};
  /** Whether the lights alone make the person act; without it `touch` and `holdMagnet` do. */
  automatic: boolean;
  readonly #frontEnd: FrontEnd;
  readonly #pickup: Pickup;
  readonly #random: RandomStream;
  readonly #places: readonly string[];
  readonly #fields_T: ReadonlyMap<string, number>;
  #pattern = 0;
  #busyUntil_s = 0;
  #intention: Intention | null = null;
  readonly #asks: number[] = [];

  constructor(frontEnd: FrontEnd, random: RandomStream, automatic = true) {
    this.#frontEnd = frontEnd;
    this.#pickup = frontEnd.pickup;
    this.#random = random;
    this.automatic = automatic;
    this.#places = placesOf(this.#pickup);
    this.#fields_T = new Map(this.#places.map((place) => [place, this.#drawField_T(place)]));
  }

  /** When the person will act, simulated seconds; Infinity when nothing is intended. */
  get nextAction_s(): number {
    return this.#intention?.time_s ?? Number.POSITIVE_INFINITY;
  }

  /** Does what was intended for this time. */
  act(): void {
    const intention = this.#intention;
    this.#intention = null;
    intention?.act();
  }

  /** The lights changed. @param pattern - the pattern, the place in bits 8 to 15, the ask above */
  sees(pattern: number, time_s: number): void {
    if (pattern === this.#pattern) return;
    this.#pattern = pattern;
    this.#frontEnd.setMagnet(0);
    this.#intention = null;
    const light = pattern & 255;
    if (light !== LIGHT_TOUCH && light !== LIGHT_MAGNET) return;
    if (!this.automatic) return;
    const reacted_s = time_s + this.#random.between(...REACTION_s);
    const start_s = Math.max(reacted_s, this.#busyUntil_s + PAUSE_s);
    if (light === LIGHT_TOUCH) this.#intend(start_s, () => this.#touch());
    else if (this.#pickup.magnet_readings) this.#intend(start_s, () => this.#holdMagnet());
    else this.#intend(start_s, () => this.onPress());
  }

  /** Touches the place that the lights ask for, as soon as the last touch is over. */
  touch(time_s: number): void {
    if ((this.#pattern & 255) !== LIGHT_TOUCH || this.#intention !== null) return;
    this.#intend(Math.max(time_s, this.#busyUntil_s + PAUSE_s), () => this.#touch());
  }

  /** Holds the wand to the place that the lights ask for. */
  holdMagnet(time_s: number): void {
    if ((this.#pattern & 255) !== LIGHT_MAGNET || this.#intention !== null) return;
    this.#intend(Math.max(time_s, this.#busyUntil_s + PAUSE_s), () => this.#holdMagnet());
  }

  #intend(time_s: number, act: () => void): void {
    this.#intention = { time_s, act };
  }

  /** Plays entry (r P + i) of the touches, r being how often this place was asked for before. */
  #touch(): void {
    const place = (this.#pattern >>> 8) & 255;
    const round = this.#asks[place] ?? 0;
    this.#asks[place] = round + 1;
    const { touches } = this.#pickup;
    if (touches.length === 0) {
      this.onPress();
      return;
    }
    const touch = touches[(round * this.#places.length + place) % touches.length];
    this.#busyUntil_s = this.#frontEnd.playTouch(touch, this.#frontEnd.time_s);
    this.#pressIfUnheard();
  }

  /** Whoever did what was asked and sees the lights ask on presses the button. */
  #pressIfUnheard(): void {
    const patience_s = this.#pickup instanceof Guitar ? UNHEARD_AT_JACK_s : UNHEARD_s;
    if (this.automatic) this.#intend(this.#frontEnd.time_s + patience_s, () => this.onPress());
  }

  #holdMagnet(): void {
    const place = this.#places[(this.#pattern >>> 8) & 255];
    this.#frontEnd.setMagnet(this.#fields_T.get(place) ?? 0);
    this.#pressIfUnheard();
  }

  /** Field that the wand finds at a place: positive at an N face. */
  #drawField_T(place: string): number {
    const coil: PickupCoil = this.#pickup.coils.find((one) => one.place === place)!;
    const [least_T, most_T] = FACE_FIELD_T[coil.pole_piece ?? 'other'];
    return this.#random.between(least_T, most_T) * (coil.pole === 'N' ? 1 : -1);
  }
}

/**
 * A pickup for the virtual bench, as a `*.pickup.json` file says it.
 *
 * The reader checks a file against these types; whatever reaches the bench is valid: numbers are
 * finite, names are defined, clips are unique. Fields that a file may leave out are optional here
 * too, so that a file can be written back as it was read; the bench applies the defaults.
 */

/** Sense of the wire from a coil's `from` to its `to`, as seen from the face. */
export type Winding = 'cw' | 'ccw';

/** Magnetic polarity that the face shows. */
export type Pole = 'N' | 'S';

/** What the magnetic circuit shows at the face. */
export type PolePiece = 'screw' | 'slug' | 'rod' | 'blade' | 'other';

/** One coil: R in series with an inductance that is loaded by its eddy loss, C across it all. */
export interface PickupCoil {
  readonly id: string;
  /** Node where the winding begins. */
  readonly from: string;
  /** Node where the winding ends. */
  readonly to: string;
  readonly resistance_ohm_20C: number;
  readonly inductance_H: number;
  readonly capacitance_F: number;
  /** Eddy-current loss as a resistance across the inductance; absent: none. */
  readonly loss_ohm?: number;
  readonly winding: Winding;
  readonly pole: Pole;
  /** The person's name for where the coil sits. */
  readonly place: string;
  readonly pole_piece?: PolePiece;
}

/** Magnetic coupling of two coils: positive side by side, negative when stacked. */
export interface PickupCoupling {
  readonly a: string;
  readonly b: string;
  /** -1 < k < 1. */
  readonly k: number;
}

/** One lead, clipped to the tester. */
export interface PickupLead {
  /** 1 to 6. */
  readonly clip: number;
  /** IEC 60757 code, or `BARE`. */
  readonly colour: string;
  /** Node name, or `coil@f` for the point at fraction f of a winding counted from its `from`; null is a lead that
   * is connected to nothing inside: a spare conductor, a wire torn off.
   */
  readonly node: string | null;
  /** Of the lead itself; 0.05 ohm when left out. */
  readonly ohm?: number;
}

/** Two points connected; with megohms it is a leak. */
export interface BridgeFault {
  readonly kind: 'bridge';
  readonly a: string;
  readonly b: string;
  readonly ohm: number;
}

/** The wire is broken at the coil's middle; 50 pF stay across the break. */
export interface OpenFault {
  readonly kind: 'open';
  readonly coil: string;
}

/** A fraction of the turns is shorted on itself. */
export interface ShortedTurnsFault {
  readonly kind: 'shorted_turns';
  readonly coil: string;
  /** 0 < fraction < 1. */
  readonly fraction: number;
}

/** The lead has no contact between two times, counted from the press of the button. */
export interface IntermittentFault {
  readonly kind: 'intermittent';
  readonly clip: number;
  readonly from_s: number;
  readonly to_s: number;
}

/** A source is already on the leads. */
export interface LiveFault {
  readonly kind: 'live';
  /** First node positive. */
  readonly between: readonly [string, string];
  readonly volt_V: number;
  /** 1000 ohm when left out. */
  readonly source_ohm?: number;
}

export type PickupFault =
  | BridgeFault
  | OpenFault
  | ShortedTurnsFault
  | IntermittentFault
  | LiveFault;

/** What the person does when the bench asks for a touch. */
export interface PickupTouch {
  /** The coil that is touched; null is a person who touches nothing. */
  readonly coil: string | null;
  /** Size of the change in that coil's flux linkage, Wb, 0 or more. */
  readonly flux_Wb: number;
  readonly rise_s: number;
  readonly hold_s: number;
  readonly fall_s: number;
  /** Partial losses of contact within 30 ms of arrival; 0 when left out. */
  readonly bounces?: number;
  /** Share of the flux that every other coil sees; 0.08 when left out. */
  readonly crosstalk?: number;
}

/** What the room adds to every reading. */
export interface PickupInterference {
  readonly hum_Hz: number;
  /** Peak of the mains fundamental in a 2.3 H coil, volts. */
  readonly hum_V: number;
  /** Rms of white noise in each 10 kHz sample, volts. */
  readonly noise_V: number;
}

/** A whole pickup with its faults and its person. */
export interface Pickup {
  readonly format: 'pickup/1';
  readonly title?: string;
  readonly temperature_C: number;
  readonly coils: readonly PickupCoil[];
  /** Coils that are not named together are not coupled. */
  readonly couplings: readonly PickupCoupling[];
  readonly leads: readonly PickupLead[];
  readonly faults: readonly PickupFault[];
  readonly touches: readonly PickupTouch[];
  /** Whether the person holds the magnet probe when asked. */
  readonly magnet_readings: boolean;
  readonly interference: PickupInterference;
}

/** Node name of the frame, baseplate, cover or drain. */
export const CHASSIS_NODE = 'chassis';

/** A point on a winding, parsed from `coil@f`. */
export interface TapPoint {
  readonly coil: string;
  /** Counted from the coil's `from`, 0 < f < 1. */
  readonly fraction: number;
}

/** The tap that a node name stands for, or null when it is a plain name.
 * @param node - a lead's or a fault's node
 */
export function tapPoint(node: string): TapPoint | null {
  const at = node.lastIndexOf('@');
  if (at <= 0 || at === node.length - 1) return null;
  const fraction = Number(node.slice(at + 1));
  if (!(fraction > 0 && fraction < 1)) return null;
  return { coil: node.slice(0, at), fraction };
}

/**
 * The error budget of a resistance, an inductance and a leak: every row from the netlist's values and the sheets' figures.
 * All are standard uncertainties (k = 1); a limit +-a that says no more counts as a rectangle, a / sqrt(3) (GUM, JCGM 100, 4.3.7).
 */
import { FRONT_END } from '../netlist/front-end.ts';
import { R0603_FINE, R0805_REFERENCE } from '../netlist/bought.ts';
import type { Netlist } from '../netlist/model.ts';
import { SUPPLIES } from '../netlist/supplies.ts';
import { SUPPLY_V } from '../rules.ts';

export interface Row {
  readonly source: string;
  /** Ohms or henries, one for each column. */
  readonly values: readonly number[];
  /** The same for every reading of one board: it does not tell two coils apart. */
  readonly common: boolean;
}

export interface Budget {
  readonly title: string;
  readonly unit: 'ohm' | 'H';
  readonly columns: readonly string[];
  /** What is measured, in the same unit: shares are of these. */
  readonly nominal: readonly number[];
  readonly rows: readonly Row[];
}

const rectangular = (limit: number): number => limit / Math.sqrt(3);
const sum = (values: readonly number[]): number => Math.hypot(...values);

/** Root of the sum of squares of a column. @param common - only rows that are, or are not, common to a board's readings */
export function total(budget: Budget, column: number, common?: boolean): number {
  return sum(budget.rows.filter((row) => common === undefined || row.common === common).map(({ values }) => values[column]));
}

/** Temperature of the board may lie this far from where its reference was made, kelvin. */
const WARMER_K = 10;
/** The reference's coefficient (its part's description), 1/K. */
const DRIFT_PER_K = 10e-6;
/** Converter at 20 SPS and gain 1: noise, volts rms, and linearity, of full scale (data sheet SBAS660C). */
const NOISE_V = 1.5e-6;
const LINEARITY = 15e-6;
const FULL_SCALE_V = 2.5;
/** Boxcars of its filter, seconds: what they leave of the mains decides how much of the hum is read. */
const BOXCARS_s = [0.02, 1 / 60, 0.0198] as const;
/** Hum at a coil that hangs on the clips, volts peak, mains off by 1 %. */
const HUM_V = 3e-3;
const MAINS_Hz = 49.5;
/** Thermal voltage that moves between the two polarities (copper on tinned brass, from memory). */
const THERMAL_V = 0.3e-6;
/** Board surface from a clip to ground, cleaned of flux, and between neighbouring clips (common practice, no published source). */
const INSULATION_OHM = 20e9;
const BETWEEN_OHM = 400e9;
/** Contact of jaw and lead, common practice, no published source. */
const CONTACT_OHM = 0.02;

/** Share of a sine that the filter lets through. */
function filtered(frequency_Hz: number): number {
  return BOXCARS_s.reduce((gain, length_s) => {
    const angle = Math.PI * frequency_Hz * length_s;
    return gain * Math.abs(Math.sin(angle) / angle);
  }, 1);
}

/** Ranges as the logic uses them: ohms and amperes. */
const OHMS = [[100, 250e-6], [8e3, 100e-6], [100e3, 10e-6]] as const;

/** Difference of the slopes of a smooth third-order bend with the sheet's greatest departure, at a coil's and at the reference's voltage. */
function bend(coil_V: number, reference_V: number): number {
  // x^3 - x departs by 0.385 at most.
  return (LINEARITY / 0.385) * Math.abs((coil_V / FULL_SCALE_V) ** 2 - (reference_V / FULL_SCALE_V) ** 2);
}

/** @param fromDeck - ohms by which the deck `four-wire` with the greatest leakages is off, for each column
 * @param settled - share that the slowest deck `settling-*` leaves
 */
export function resistanceBudget(netlist: Netlist, fromDeck: readonly number[], settled: number): Budget {
  const tolerance = netlist.parts.find(({ bought }) => bought === R0805_REFERENCE)!.tolerance!;
  const each = (one: (ohm: number, amperes: number) => number): number[] => OHMS.map(([ohm, amperes]) => one(ohm, amperes));
  const reference = FRONT_END.reference_ohm;
  return {
    title: 'A resistance, four-wire, both polarities, two precise readings and two of the reference', unit: 'ohm',
    columns: OHMS.map(([ohm, amperes]) => `${ohm} ohm at ${Math.round(amperes * 1e6)} uA`), nominal: OHMS.map(([ohm]) => ohm),
    rows: [
      { source: `reference ${tolerance * 100} %, rectangular`, common: true, values: each((ohm) => rectangular(tolerance) * ohm) },
      { source: `its drift, ${DRIFT_PER_K * 1e6} ppm/K over ${WARMER_K} K, rectangular`, common: true, values: each((ohm) => rectangular(DRIFT_PER_K * WARMER_K) * ohm) },
      { source: 'noise of the two readings of the coil, 1.5 uV rms each', common: false, values: each((_, amperes) => NOISE_V / Math.SQRT2 / amperes) },
      { source: 'noise of the two readings of the reference', common: false, values: each((ohm, amperes) => (NOISE_V * Math.SQRT2 * ohm) / (reference * amperes)) },
      { source: 'linearity 15 ppm of full scale, a smooth bend, rectangular', common: false, values: each((ohm, amperes) => rectangular(bend(ohm * amperes, reference * amperes)) * ohm) },
      { source: 'hum of 3 mV at 49.5 Hz behind the filter', common: false, values: each((_, amperes) => (HUM_V / Math.SQRT2) * filtered(MAINS_Hz) / amperes) },
      { source: 'thermal voltage that moved by 0.3 uV between the polarities', common: false, values: each((_, amperes) => THERMAL_V / 2 / amperes) },
      { source: 'greatest leakages, offsets and input currents together (deck four-wire), rectangular', common: false, values: fromDeck.map((ohm) => rectangular(Math.abs(ohm))) },
      { source: 'board surface, 20 gigohm from the upper clip to ground, rectangular', common: false, values: each((ohm) => rectangular((ohm * ohm) / INSULATION_OHM)) },
      { source: 'not settled (slowest deck settling), rectangular', common: false, values: each((ohm) => rectangular(settled) * ohm) },
      { source: 'jaw on lead, inside what is measured', common: false, values: each(() => CONTACT_OHM) },
    ],
  };
}

const COILS = [[4100, 2.3], [8e3, 4], [2500, 10]] as const;
const BURST_s = 1 / 120e3;
/** Drive resistor, clips and switches: thick film of 1 %, three independent thousands. */
const SERIES_OHM = FRONT_END.drive_ohm + 2 * (FRONT_END.protection_ohm + FRONT_END.afterClamp_ohm) + 10;
const SERIES_u = rectangular(0.01) * Math.hypot(1000, 1000, 1000, 220, 220);
const CAPACITANCE_u_F = 1e-10;
const CORE_u = 0.02;

/** Inductance by the flux of a step: L = R_tot times the integral of 1 - i/i_end, less what charges capacitance. */
export function inductanceBudget(): Budget {
  const each = (one: (ohm: number, henry: number, all_ohm: number) => number): number[] =>
    COILS.map(([ohm, henry]) => one(ohm, henry, ohm + FRONT_END.reference_ohm + SERIES_OHM));
  return {
    title: 'An inductance, by the flux of a step of both signs', unit: 'H',
    columns: COILS.map(([ohm, henry]) => `${henry} H, ${ohm} ohm`), nominal: COILS.map(([, henry]) => henry),
    rows: [
      { source: 'resistors in the path, 1 %, rectangular', common: true, values: each((_, henry, all) => (henry * SERIES_u) / all) },
      { source: 'moment of the step, a tenth of a sample', common: false, values: each((_, __, all) => all * BURST_s * 0.1) },
      { source: 'capacitance of winding and lead, 100 pF', common: false, values: each((ohm, _, all) => Math.abs(ohm * ohm - all * all) * CAPACITANCE_u_F) },
      { source: 'end of the step in a wide code or beside one, 0.3 %', common: false, values: each((_, henry) => 0.003 * henry) },
      { source: "the core itself, which depends on level and frequency: no error of the board's", common: false, values: each((_, henry) => CORE_u * henry) },
    ],
  };
}

/** The voltage drive of steps and leaks. */
const STEP_V = 1.8;
const LEAKS = [10e6, 100e6] as const;
/** Waited before a leak is read, seconds (logic, leaks.ts). */
const LEAK_WAIT_s = 25e-3;

/** A leak: 1.8 V through it into a megohm, both signs. @param fromDeck - ohms by which the deck `leak` with the greatest leakages is off */
export function leakBudget(fromDeck: readonly number[]): Budget {
  const fine = R0603_FINE.description.includes('0.1 %') ? 0.001 : Number.NaN;
  const sense = FRONT_END.leakSense_ohm;
  const each = (one: (ohm: number, return_V: number) => number): number[] =>
    LEAKS.map((ohm) => one(ohm, (STEP_V * sense) / (ohm + sense)));
  return {
    title: 'A leak, by 1.8 V of both signs into 1 megohm', unit: 'ohm', columns: LEAKS.map((ohm) => `${ohm / 1e6} megohm`), nominal: LEAKS,
    rows: [
      { source: 'the megohm, 0.1 %, rectangular', common: true, values: each((ohm) => rectangular(fine) * (ohm + sense)) },
      { source: 'not settled: 10 nF and the megohm, 25 ms and the filter, which reads on for 28 ms', common: true, values: each((ohm) => {
        const time_s = FRONT_END.leakSense_F * ((sense * ohm) / (sense + ohm));
        const mean = (length_s: number): number => (time_s * (1 - Math.exp(-length_s / time_s))) / length_s;
        return ohm * BOXCARS_s.reduce((left, length_s) => left * mean(length_s), Math.exp(-LEAK_WAIT_s / time_s));
      }) },
      { source: 'noise of two readings', common: false, values: each((ohm, return_V) => ((NOISE_V / Math.SQRT2) * ohm) / return_V) },
      { source: 'greatest leakages and input currents (deck leak), rectangular', common: false, values: fromDeck.map((ohm) => rectangular(Math.abs(ohm))) },
      { source: 'board surface between the two clips, 400 gigohm, rectangular', common: false, values: each((ohm) => rectangular((ohm * ohm) / BETWEEN_OHM)) },
      { source: 'hum of 20 mV on the floating end behind the filter', common: false, values: each((ohm, return_V) => ((0.02 / Math.SQRT2) * filtered(MAINS_Hz) * ohm) / return_V) },
    ],
  };
}

/** What a voltage on one clip, against ground, does for long. */
export interface Overload {
  readonly volts: number;
  readonly pulse_W: number;
  readonly sense_W: number;
  readonly clamp_A: number;
  readonly shunt_A: number;
}

/** What the tester itself drives at most. */
export interface Driven {
  /** The current source into an open clip: up to 0.4 V below its rail (data sheet SBAS660C), and what it gives with its sheet's 3 %. */
  readonly source_V: number;
  readonly source_A: number;
  /** The voltage drive, what it gives two joined clips with the reference behind them, and one clip that lies on ground. */
  readonly step_V: number;
  readonly pair_ohm: number;
  readonly pair_A: number;
  readonly ground_ohm: number;
  readonly ground_A: number;
}

export function driven(): Driven {
  const { drive_ohm, protection_ohm, afterClamp_ohm, reference_ohm } = FRONT_END;
  const ground_ohm = drive_ohm + protection_ohm + afterClamp_ohm;
  return {
    source_V: SUPPLY_V.V_PLUS[1] - 0.4, source_A: 1.03 * Math.max(...OHMS.map(([, amperes]) => amperes)),
    step_V: STEP_V, pair_ohm: SERIES_OHM, pair_A: STEP_V / (SERIES_OHM + reference_ohm), ground_ohm, ground_A: STEP_V / ground_ohm,
  };
}

/** A clamp's own voltage at tens of milliamperes (BAV199's sheet: 0.9 V at 1 mA, 1.25 V at 150 mA). */
const DIODE_V = 1.1;
/** The two resistors of a clip's cell and what a shunt takes. */
export const ALLOWED = { pulse_W: 0.5, sense_W: 0.1, clamp_A: 0.11, shunt_A: 0.07 } as const;

/** @param volts - constant, or rms when it alternates @param source_ohm - in series with it */
export function overload(volts: number, source_ohm = 0): Overload {
  const above = Math.max(0, volts - SUPPLIES.clamp_V - DIODE_V);
  const { protection_ohm, sense_ohm } = FRONT_END;
  const parallel = 1 / (1 / protection_ohm + 1 / sense_ohm);
  const across = (above * parallel) / (parallel + source_ohm);
  return {
    volts, pulse_W: across ** 2 / protection_ohm, sense_W: across ** 2 / sense_ohm,
    clamp_A: across / protection_ohm, shunt_A: across / parallel,
  };
}

/** Highest constant voltage at which no part of a clip's cell is beyond its rating. */
export function withstand_V(): number {
  const { protection_ohm, sense_ohm } = FRONT_END;
  const across = Math.min(Math.sqrt(ALLOWED.pulse_W * protection_ohm), Math.sqrt(ALLOWED.sense_W * sense_ohm));
  return across + SUPPLIES.clamp_V + DIODE_V;
}

/**
 * Two clips at the jack of a guitar in the virtual bench's own circuit, read without the tester: ohms from the steady state, touches
 * as waveforms over time, with hum, noise and the spread of a meter. It knows nothing of how the program predicts any of it.
 */
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import { Circuit, ONE } from '../../host/src/virtual-bench/circuit.ts';
import { Guitar, JACK, type GuitarPlan } from '../../host/src/virtual-bench/guitar.ts';
import { addPickup, clipNode, touchSign } from '../../host/src/virtual-bench/pickup-circuit.ts';
import { placesOf } from '../../host/src/virtual-bench/person.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { humTones, TouchSources } from '../../host/src/virtual-bench/touch-sources.ts';
import { Transient } from '../../host/src/virtual-bench/transient.ts';

const PROBE_A = 1e-6;
const INPUT_ohm = 10e6;
const MOST_ohm = 1e8;
const RATE_Hz = 5000;
const [BEFORE_s, LONG_s] = [0.1, 0.7];
const READ_share = 0.0005;
const CLIP_ohm = 0.05;

function circuitOf(guitar: Guitar): { circuit: Circuit; ports: ReturnType<typeof addPickup>; probe: number } {
  const circuit = new Circuit();
  const ports = addPickup(circuit, guitar);
  const [hot, ground] = [clipNode(JACK.hot), clipNode(JACK.ground)];
  circuit.resistor(ground, '0', CLIP_ohm);
  return { circuit, ports, probe: circuit.probe(hot, ground) };
}

/** Ohms at the jack, and by place what one steady volt that lifts plus of the touched coil gives there; without noise.
 * @param positions - index of the position of each switch
 */
export function steadyAtJack(plan: GuitarPlan, positions: readonly number[]): { readonly ohm: number; readonly shares: readonly number[] } {
  const guitar = new Guitar(plan, positions);
  const { circuit, ports, probe } = circuitOf(guitar);
  circuit.current('0', clipNode(JACK.hot), [{ input: ONE, gain: PROBE_A }]);
  const topology = circuit.topology(new Uint8Array(0), new Int8Array(0));
  const inputs = new Float64Array(circuit.inputCount);
  const ohm = topology.steadyOutput(probe, inputs.with(ONE, 1)) / PROBE_A;
  const shares = placesOf(guitar).map((_, place) => {
    const at = guitar.coils.findIndex(({ id }) => id === guitar.touches[place]!.coil);
    return at < 0 ? 0 : touchSign(guitar.coils[at]!) * topology.steadyOutput(probe, inputs.with(ports.emfInputs[at]!, 1));
  });
  return { ohm, shares };
}

/** What one setting gives: ohms, and one touch of each place.
 * @param positions - index of the position of each switch
 * @param round - how often each place was touched before, which decides the hand
 */
export function readAtJack(plan: GuitarPlan, positions: readonly number[], round: number, random: RandomStream): BenchRecord {
  const guitar = new Guitar(plan, positions);
  const ohm = steadyAtJack(plan, positions).ohm * (1 + READ_share * random.gaussian());
  const { circuit, ports, probe } = circuitOf(guitar);
  circuit.resistor(clipNode(JACK.hot), clipNode(JACK.ground), INPUT_ohm);
  const sources = new TouchSources(guitar, ports.emfInputs, random);
  const transient = new Transient(circuit, { hum: { input: ports.humInput, tones: humTones(guitar, random) }, moving: sources });
  transient.settle();
  const places = placesOf(guitar);
  const touches = places.map((at, place) => {
    const touch = guitar.touches[(round * places.length + place) % guitar.touches.length]!;
    sources.play(touch, transient.time_s + BEFORE_s + random.between(0.02, 0.08));
    const volts = new Float64Array(LONG_s * RATE_Hz);
    transient.run(1 / RATE_Hz, volts.length, [probe], [volts]);
    transient.advance(0.5, 1 / RATE_Hz);
    const read = Array.from(volts, (value) => Number((value + guitar.interference.noise_V * random.gaussian()).toFixed(6)));
    return { at, rate_Hz: RATE_Hz, start_s: -BEFORE_s, channels: [{ plus: JACK.hot, minus: JACK.ground, volts_V: read }] };
  });
  return {
    format: 'bench/1',
    tester: { serial: 'METER' },
    temperature_C: plan.pickups[0]!.pickup.temperature_C,
    clips: [{ clip: JACK.hot }, { clip: JACK.ground }],
    resistances: [{ a: JACK.hot, b: JACK.ground, ...(ohm < MOST_ohm ? { ohm } : { ohm: null, above_ohm: MOST_ohm }) }],
    touches,
    setting: Object.fromEntries(plan.switches.map(({ id, positions: all }, at) => [id, all[positions[at]!]!.name])),
  };
}

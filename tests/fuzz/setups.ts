/** SETUP packets into the firmware on the emulated chip, some given up half-way: answered or stalled, and the device still works. */
import { STALL, type Answer } from '../../host/src/chip-twin/usb-transfer.ts';
import type { RandomStream } from '../../host/src/virtual-bench/random.ts';
import { Command, complaintsOf, Note, ProbeBench, reportOf, runFor, until } from '../chip/bench.ts';
import { nastyWord, pick } from './chance.ts';
import type { Fuzzer } from './fuzzer.ts';

/** A step of a case: how long the host waits before it gives the transfer up, in units of 10 us (0: to its end), then the packet. */
const STEP_bytes = 9;
const STEPS_MOST = 40;
const UNIT_ns = 1e4;
/** Bit of bmRequestType by which both differ from standard and class requests (USB 2.0, table 9-2). */
const VENDOR_OR_RESERVED = 0x40;
const GET_DEVICE = [0x80, 6, 0, 1, 0, 0, 18, 0] as const;

/** A packet near one that the firmware knows, or any. */
function drawPacket(chance: RandomStream): number[] {
  if (chance.unit() < 0.2) return Array.from({ length: 8 }, () => chance.below(256));
  const low = (): number => (chance.unit() < 0.7 ? chance.below(4) : nastyWord(chance) & 0xff);
  const type = pick(chance, [0x00, 0x80, 0x01, 0x81, 0x02, 0x82, 0x21, 0xa1, 0x40, 0xc0]);
  const request = chance.unit() < 0.9 ? chance.below(13) : chance.below(256);
  const high = pick(chance, [0, 0, 1, 2, 3, 0x21, 0x22, low()]);
  const index = pick(chance, [0, 0, 1, 0x81, 0x80, low()]);
  return [
    type, request, low(), high, index, pick(chance, [0, 0, 0, low()]),
    pick(chance, [0, 1, 2, 8, 18, 64, 255, low()]), pick(chance, [0, 0, 0, low()]),
  ];
}

export const setupFuzzer: Fuzzer = {
  what: 'setups',
  step_bytes: STEP_bytes,
  ending: '.setups',
  draw(chance) {
    const drawStep = (): number[] => [chance.unit() < 0.7 ? 0 : 1 + chance.below(20), ...drawPacket(chance)];
    const steps = Array.from({ length: 1 + chance.below(STEPS_MOST) }, drawStep);
    return Uint8Array.from(steps.flat());
  },
  async feed(bytes) {
    const bench = new ProbeBench();
    await bench.plug();
    const device = dataOf(await bench.control(...GET_DEVICE));
    for (let at = 0; at + STEP_bytes <= bytes.length; at += STEP_bytes) await step(bench, bytes.subarray(at, at + STEP_bytes));
    if (!dataOf(await bench.control(...GET_DEVICE)).equals(device)) throw new Error('the device descriptor is another one');
    await bench.control(0x00, 9, 1, 0, 0, 0, 0, 0);
    const before = bench.note(Note.reports);
    await until(bench.machine, bench.machine.usb.interruptOut(1, reportOf(Command.send, 7)));
    bench.runUntil(() => bench.note(Note.reports) !== before, 'a report arrives');
    if (dataOf(await until(bench.machine, bench.machine.usb.interruptIn(1)))[4] !== 7) throw new Error('the report that comes back is another one');
    if (bench.machine.starts !== 1) throw new Error(`the firmware started ${bench.machine.starts} times`);
    const complaints = complaintsOf(bench.machine);
    if (complaints.length > 0) throw new Error(complaints.join('; '));
  },
};

async function step(bench: ProbeBench, [wait, ...setup]: Uint8Array): Promise<void> {
  const { machine } = bench;
  const length = setup[6]! | (setup[7]! << 8);
  const data = (setup[0]! & 0x80) === 0 ? new Uint8Array(length).fill(0x5a) : new Uint8Array(0);
  const givesUp = new AbortController();
  const answered = machine.usb.control(Uint8Array.from(setup), data, givesUp.signal);
  if (wait !== 0) {
    answered.catch(() => undefined);
    runFor(machine, (wait! * UNIT_ns) / 1e9);
    givesUp.abort(new Error('given up'));
    return;
  }
  const answer = await until(machine, answered);
  // USB 2.0, 9.2.7: a request that the device does not know is an error; ours knows none of a vendor and none that is reserved.
  if (answer !== STALL && (setup[0]! & VENDOR_OR_RESERVED) !== 0) throw new Error(`${setup.join(' ')} was answered, expected a stall`);
  if (answer !== STALL && answer.length > length) throw new Error(`${answer.length} bytes came, ${length} were asked for`);
}

function dataOf(answer: Answer): Buffer {
  if (answer === STALL) throw new Error('stalled');
  return Buffer.from(answer);
}

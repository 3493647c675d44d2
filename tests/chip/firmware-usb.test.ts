/**
 * USB of the firmware on the emulated chip, beside the table of chapter 9 (usb/chapter9.test.ts): the HID
 * requests, what the module hears of suspend, resume and bus reset, and reports that wait for their turn.
 */
import { describe, expect, it } from 'vitest';
import { Link } from '../../host/src/logic/layout.generated.ts';
import { STALL, type Answer } from '../../host/src/chip-twin/usb-transfer.ts';
import { Command, complaintsOf, Note, ProbeBench, reportOf, runFor, until } from './bench.ts';
import { reportsOf } from './hid-items.ts';

async function plugged(): Promise<ProbeBench> {
  const bench = new ProbeBench();
  await bench.plug();
  return bench;
}

const bytesOf = (answer: Answer): number[] => (answer === STALL ? [] : [...answer]);

describe('report descriptor', () => {
  it('HID 1.11, E.10: the parser reads the sample mouse as 3 bytes in and nothing out', () => {
    const mouse = '05010902A1010901A100050919012903150025019503750181029501750581010501093009311581257F750895028106C0C0';
    expect(reportsOf(Buffer.from(mouse, 'hex'))).toEqual({ inputBits: 24, outputBits: 0, usagePage: 1, usage: 2 });
  });
  it('USB HID 1.11, 6.2.2: is the 25 bytes of a vendor pair of 64-byte reports', async () => {
    const bench = await plugged();
    const told = bytesOf(await bench.control(0x81, 6, 0, 0x22, 0, 0, 64, 0));
    const expected = '0600FF0901A101150026FF00750895400901810209019102C0';
    expect(Buffer.from(told).toString('hex').toUpperCase()).toBe(expected);
    expect(reportsOf(Buffer.from(told))).toEqual({ inputBits: 512, outputBits: 512, usagePage: 0xff00, usage: 1 });
  });
});

describe('HID requests (HID 1.11, 7.2)', () => {
  it('GET_REPORT gives the last input report again', async () => {
    const bench = await plugged();
    await bench.command(Command.send, 0x11223344);
    const sent = bytesOf(await until(bench.machine, bench.machine.usb.interruptIn(1)));
    expect(sent.slice(0, 8)).toEqual([0, Command.send, 0, 0, 0x44, 0x33, 0x22, 0x11]);
    expect(bytesOf(await bench.control(0xa1, 1, 0, 1, 0, 0, 64, 0))).toEqual(sent);
  });
  it('SET_IDLE 0 is taken, GET_IDLE says 0, any other rate is stalled', async () => {
    const bench = await plugged();
    expect(await bench.control(0x21, 0x0a, 0, 0, 0, 0, 0, 0)).not.toBe(STALL);
    expect(bytesOf(await bench.control(0xa1, 2, 0, 0, 0, 0, 1, 0))).toEqual([0]);
    expect(await bench.control(0x21, 0x0a, 0, 5, 0, 0, 0, 0)).toBe(STALL);
  });
  it('SET_PROTOCOL, GET_PROTOCOL, feature reports and the device qualifier are stalled, and the next request is answered', async () => {
    const bench = await plugged();
    const unsupported = [
      [0x21, 0x0b, 0, 0, 0, 0, 0, 0], [0xa1, 3, 0, 0, 0, 0, 1, 0], [0xa1, 1, 0, 3, 0, 0, 64, 0], [0x80, 6, 0, 6, 0, 0, 10, 0],
    ];
    for (const setup of unsupported) {
      expect(await bench.control(...setup)).toBe(STALL);
      expect(bytesOf(await bench.control(0x80, 8, 0, 0, 0, 0, 1, 0))).toEqual([1]);
    }
  });
});

describe('a halted endpoint (USB 2.0, 9.4.5)', () => {
  it('asks again for the report that was refused meanwhile, once its halt is cleared', async () => {
    const bench = await plugged();
    expect(await bench.control(2, 3, 0, 0, 0x81, 0, 0, 0)).not.toBe(STALL);
    const before = bench.note(Note.sent);
    await bench.command(Command.send, 0x11223344);
    expect(await bench.control(2, 1, 0, 0, 0x81, 0, 0, 0)).not.toBe(STALL);
    bench.runUntil(() => bench.note(Note.sent) !== before, 'the wire is told to be free');
    await bench.command(Command.send, 0x55667788);
    expect(bytesOf(await until(bench.machine, bench.machine.usb.interruptIn(1))).slice(4, 8)).toEqual([0x88, 0x77, 0x66, 0x55]);
  });
});

describe('bus', () => {
  it('suspend and resume reach the module', async () => {
    const bench = await plugged();
    expect(bench.note(Note.link)).toBe(Link.attached);
    bench.machine.usb.suspend();
    runFor(bench.machine, 0.02);
    expect(bench.note(Note.link)).toBe(Link.suspended);
    bench.machine.usb.resume();
    runFor(bench.machine, 0.05);
    expect(bench.note(Note.link)).toBe(Link.attached);
    expect(complaintsOf(bench.machine)).toEqual([]);
  });
  it('ten times suspended and resumed, the module hears each once, and reports flow after each', async () => {
    const bench = await plugged();
    for (let i = 0; i < 10; i++) {
      const links = bench.note(Note.links);
      bench.machine.usb.suspend();
      runFor(bench.machine, 0.01);
      expect([bench.note(Note.link), bench.note(Note.links) - links]).toEqual([Link.suspended, 1]);
      bench.machine.usb.resume();
      runFor(bench.machine, 0.04);
      expect([bench.note(Note.link), bench.note(Note.links) - links]).toEqual([Link.attached, 2]);
      await bench.command(Command.send, i);
      expect(bytesOf(await until(bench.machine, bench.machine.usb.interruptIn(1)))[4]).toBe(i);
    }
  });
  it('a request that comes while the bus is taken for asleep tells the module that it is awake', async () => {
    const bench = await plugged();
    bench.machine.usb.suspend();
    runFor(bench.machine, 0.01);
    expect(bytesOf(await bench.control(0x80, 0, 0, 0, 0, 0, 2, 0))).toEqual([0, 0]);
    runFor(bench.machine, 0.01);
    expect(bench.note(Note.link)).toBe(Link.attached);
  });
  it('70 SET_CONFIGURATION during one long event lose no wake-up', async () => {
    const bench = await plugged();
    const times = bench.note(Note.times);
    await bench.command(Command.wake, 30_000);
    await until(bench.machine, bench.machine.usb.interruptOut(1, reportOf(Command.busy, 500_000)));
    const setConfiguration = Uint8Array.of(0x00, 9, 1, 0, 0, 0, 0, 0);
    await until(bench.machine, Promise.all(Array.from({ length: 70 }, () => bench.machine.usb.control(setConfiguration))));
    bench.runUntil(() => bench.note(Note.code) !== 0, 'the long event ends');
    runFor(bench.machine, 0.05);
    expect(bench.note(Note.times) - times).toBe(1);
    expect(bench.machine.word('events_dropped')).toBe(0);
    expect(bench.note(Note.link)).toBe(Link.attached);
  });
  it('a buffer that the controller may be using is never changed without the abort handshake', async () => {
    const bench = await plugged();
    const { usb } = bench.machine;
    // A host that gives up a control transfer before its status stage, halts, resets and configures again, each with reports under way.
    for (const setup of [[0x02, 3, 0, 0, 0x81, 0, 0, 0], [0x02, 3, 0, 0, 0x01, 0, 0, 0], [0x00, 9, 1, 0, 0, 0, 0, 0]]) {
      await bench.command(Command.send, 1);
      const given = new AbortController();
      const gone = usb.control(Uint8Array.of(0x80, 6, 0, 1, 0, 0, 18, 0), undefined, given.signal).catch(() => {});
      bench.machine.run(3e4);
      given.abort(new Error('given up'));
      await gone;
      await bench.control(...setup);
      await bench.control(0x00, 9, 1, 0, 0, 0, 0, 0);
    }
    await bench.command(Command.send, 2);
    await until(bench.machine, usb.resetBus());
    await bench.control(0x00, 9, 1, 0, 0, 0, 0, 0);
    expect(complaintsOf(bench.machine)).toEqual([]);
  });
  it('asks the bus for what it draws and no more: 160 mA, not 500 (USB 2.0, 9.6.3: units of 2 mA)', async () => {
    const bench = await plugged();
    expect(bytesOf(await bench.control(0x80, 6, 0, 2, 0, 0, 9, 0))[8]).toBe(80);
  });
  it('reset at any of 40 moments of a run of reports ends the configuration, and the device is there again', async () => {
    const bench = await plugged();
    const { machine } = bench;
    for (let i = 0; i < 40; i++) {
      machine.usb.interruptOut(1, reportOf(Command.send, i)).catch(() => {});
      machine.run(5e4 * (i % 20));
      const plug = machine.usb.resetBus();
      await until(machine, plug);
      expect(bytesOf(await bench.control(0x80, 8, 0, 0, 0, 0, 1, 0))).toEqual([0]);
      await bench.control(0x00, 9, 1, 0, 0, 0, 0, 0);
      runFor(machine, 0.002);
      expect(bench.note(Note.link)).toBe(Link.attached);
    }
    expect(machine.starts).toBe(1);
    await bench.command(Command.send, 7);
    expect(bytesOf(await until(machine, machine.usb.interruptIn(1)))[4]).toBe(7);
  });
});

describe('reports', () => {
  it('wait in the one buffer until the host asks: a second one is refused until then', async () => {
    const bench = await plugged();
    await bench.command(Command.send, 1);
    await bench.command(Command.send, 2);
    expect([bench.note(Note.sent), bench.note(Note.refused)]).toEqual([0, 1]);
    expect(bytesOf(await until(bench.machine, bench.machine.usb.interruptIn(1)))[4]).toBe(1);
    runFor(bench.machine, 0.003);
    expect(bench.note(Note.sent)).toBe(1);
  });
  it('all arrive, in order, when a host floods with 500', async () => {
    const bench = await plugged();
    const { machine } = bench;
    const before = bench.note(Note.reports);
    const all = Array.from({ length: 500 }, (_, i) => machine.usb.interruptOut(1, reportOf(Command.light, i & 1)));
    await until(machine, Promise.all(all));
    runFor(machine, 0.01);
    expect(bench.note(Note.reports) - before).toBe(500);
    expect(machine.word('events_dropped')).toBe(0);
  });
  it('shorter than 64 bytes come with their length', async () => {
    const bench = await plugged();
    for (const length of [0, 1, 63]) {
      const before = bench.note(Note.reports);
      await until(bench.machine, bench.machine.usb.interruptOut(1, new Uint8Array(length)));
      bench.runUntil(() => bench.note(Note.reports) !== before, 'the report arrives');
      expect(bench.note(Note.length)).toBe(length);
    }
  });
});

describe('lights', () => {
  /** What the pins show in 4 s, sampled every 20 ms: 0 dark, 1 green, 2 red. */
  async function shown(pattern: number): Promise<number[]> {
    const bench = await plugged();
    await bench.command(Command.light, pattern);
    const samples: number[] = [];
    for (let i = 0; i < 200; i++) {
      runFor(bench.machine, 0.02);
      samples.push(bench.machine.isRed ? 2 : bench.machine.isGreen ? 1 : 0);
    }
    return samples;
  }
  it('are told apart without colour: no two patterns have the same rhythm of light and dark', async () => {
    const patterns = [0, 1, 2, 0x003, 0x103, 0x203, 4, 0x005, 0x105, 6, 7, 10];
    const rhythms = new Map<string, number>();
    for (const pattern of patterns) {
      const lit = (await shown(pattern)).map((light) => (light ? 1 : 0));
      // Lengths of light and dark, whatever moment one begins to look at.
      const lengths = lit.join('').split(/(?<=0)(?=1)|(?<=1)(?=0)/).slice(1, -1).map((run) => `${run[0]}${Math.round(run.length / 5)}`);
      const rhythm = lengths.length === 0 ? `steady ${lit[0]}` : lengths.slice(0, 12).sort().join(' ');
      expect(rhythms.get(rhythm), `${pattern} looks like ${rhythms.get(rhythm)}`).toBeUndefined();
      rhythms.set(rhythm, pattern);
    }
  });
  it('count the place: one flash for place 0, two for place 1, three for place 2', async () => {
    for (const place of [0, 1, 2]) {
      const flashes = (await shown(3 | (place << 8))).join('').split(/0{20,}/).filter((part) => part.includes('1'));
      const counts = flashes.slice(1, -1).map((part) => part.split(/0+/).filter((run) => run.includes('1')).length);
      expect(new Set(counts)).toEqual(new Set([place + 1]));
    }
  });
  it('unsure alternates both lights, trap is steady red', async () => {
    expect(new Set(await shown(8))).toEqual(new Set([1, 2]));
    expect(new Set(await shown(9))).toEqual(new Set([2]));
  });
});

/**
 * The real wire: unmodified node-hid in Debian's own kernel, which enumerates our devices through
 * USB/IP. One boot of an emulated PC runs all cases; they are listed in guest/.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { readFileSync } from 'node:fs';
import { setupOf } from '../../host/src/bench/bench.ts';
import type { ChipUsbDevice } from './chip-usb-device.ts';
import { BenchTest } from '../../host/src/evidence/run-test.ts';
import { createLogic, logicModule } from '../../host/src/logic/module.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';
import { productImage } from '../chip/images.ts';
import { deviations } from './ask.ts';
import { requests } from './chapter9.ts';
import { CHIPS, fulfilChip, isChip, layChips } from './chip-desk.ts';
import { Desk } from './desk.ts';
import { chipCases } from './guest/chip-cases.ts';
import { standInCases } from './guest/stand-in-cases.ts';
import { writeInitramfs } from './initramfs.ts';
import { CannotRun, fetchKernel } from './kernel.ts';
import type { Kernel } from './kernel.ts';
import { fulfilStandIn, layStandIns } from './stand-in-desk.ts';
import { SAMPLE_MOUSE, VENDOR_PAIR_64 } from './stand-in.ts';
import { boot, bootFolder, discard, requireQemu } from './vm.ts';
import type { VmRun } from './vm.ts';
import { expectSameMap } from '../chip/same-map.ts';

async function prepare(): Promise<Kernel | string> {
  try {
    requireQemu();
    return await fetchKernel();
  } catch (error) {
    if (!(error instanceof CannotRun)) throw error;
    return error.message;
  }
}

const kernel = await prepare();
if (typeof kernel === 'string') console.log(`skipped: the kernel test, because ${kernel}`);

type Told = { readonly name: string; readonly ok: boolean; readonly why?: string; readonly seen?: unknown };

describe.skipIf(typeof kernel === 'string')('node-hid and the transport in a real kernel', () => {
  let run: VmRun;
  let folder: string;
  const told = new Map<string, Told>();
  const cases = [...standInCases, ...chipCases];
  const desk = new Desk((device, wish) =>
    isChip(device) ? fulfilChip(device, wish) : fulfilStandIn(device, wish),
  );
  let chips: ChipUsbDevice[] = [];

  beforeAll(async () => {
    const { vmlinux } = kernel as Kernel;
    await layStandIns(desk);
    chips = await layChips(desk, productImage());
    folder = await bootFolder();
    const image = `${folder}/image.cpio`;
    const setups = Object.fromEntries(Object.entries(CHIPS).map(([name, { setup }]) => [name, setup]));
    // Where the product's lies, seen from its bundle.
    const logic = new Map([['shared-logic/build/logic.wasm', readFileSync(LOGIC)]]);
    await writeInitramfs(image, kernel as Kernel, { ...(await desk.open()), setups }, logic);
    run = await boot(folder, vmlinux, image);
    for (const result of run.results as Told[]) told.set(result.name, result);
  }, 2_400_000);

  afterAll(async () => {
    await desk.close();
    for (const chip of chips) chip.close();
    const failed = !run?.passed || [...told.values()].some(({ ok }) => !ok);
    if (failed && run) console.log(`the guest's serial log is kept: ${run.log}`);
    if (folder) await discard(folder, failed);
  });

  /** What a case has seen; fails with the guest's own reason. */
  function seen<T>(name: string): T {
    const result = told.get(name);
    if (!result) throw new Error(run.fault ?? `the guest told nothing of "${name}"`);
    if (!result.ok) throw new Error(result.why);
    return result.seen as T;
  }

  const unplugged = 'tester TS-0001 was unplugged; plug it in again';

  /** What is held against what a case has seen, beside its own assertions in the guest. */
  const checks: Readonly<Record<string, (result: never) => void | Promise<void>>> = {
    'the kernel enumerates a device and shows its descriptors as they were sent': (shown: Enumerated) => {
      expect(shown.attributes).toEqual({
        idVendor: '1209',
        idProduct: '0001',
        bcdDevice: '0010',
        manufacturer: 'Tapstone',
        product: 'Tapstone tester',
        serial: 'TS-0001',
        speed: '12',
      });
      expect(shown.rawReport).toBe(Buffer.from(VENDOR_PAIR_64).toString('hex'));
      expectVendorPair(shown.parsedReport);
      expect(shown.listed).toMatchObject({ usagePage: 0xff00, usage: 1, interface: 0, release: 0x0010 });
      // What the kernel asks of a full-speed HID device, in order (seen at every plug of Linux 6.1).
      expect(shown.setups.slice(0, 2)).toEqual(['8006000100004000', '8006000100001200']);
      expect(shown.setups).toContain('8006000600000a00');
      expect(shown.setups).toContain('0009010000000000');
      expect(shown.setups.at(-1)).toMatch(/^81060022/);
    },
    "a tester that another program has open is refused by that program's name": (result: { said: string }) => {
      expect(result.said).toMatch(/^tester TS-0001 is in use by sleep \(process \d+\); end that program and try again$/);
    },
    'a tester that this user may not open is told apart': (result: { said: string }) => {
      expect(result.said).toBe(
        'tester TS-0001 may not be opened by this user; run tapstone check, which says how to permit it',
      );
    },
    'a computer without libusb or libudev is told what to install': (result: Record<string, string>) => {
      expect(result).toEqual({
        'libusb-1.0.so.0':
          'the USB driver cannot load: libusb-1.0.so.0 is missing; on Debian: sudo apt-get install libusb-1.0-0',
        'libudev.so.1': 'the USB driver cannot load: libudev.so.1 is missing; on Debian: sudo apt-get install libudev1',
      });
    },
    'a tester that is pulled out says so, and works again when it is plugged in again': (result: { said: string[] }) => {
      expect(result.said).toEqual(Array.from({ length: 6 }, () => unplugged));
    },
    'two testers work side by side and are told apart by their numbers': (result: { serials: string[]; unchosen: string }) => {
      expect(result.serials).toEqual(['TS-0001', 'TS-0002']);
      expect(result.unchosen).toBe(
        '2 testers are plugged in: TS-0001, TS-0002; choose one with --tester TS-0001',
      );
    },
    'a mouse and a foreign device with the test identity beside them are left alone': (result: { serials: string[]; foreign: string[]; mouse: string }) => {
      expect(result.serials).toEqual(['TS-0001', 'TS-0002']);
      expect(result.foreign).toEqual([
        'a device with the test identity 1209:0001 calls itself "Blinker" and is no Tapstone tester; it was left alone',
      ]);
      expect(result.mouse.replace(/\s/g, '')).toContain(Buffer.from(SAMPLE_MOUSE).toString('hex'));
      expect(result.mouse).toContain('GenericDesktop.Mouse');
    },
    'a watch sees testers come and go': (result: { seen: string[] }) => {
      expect(result.seen).toEqual(['TS-0001 TS-0002', 'TS-0001', 'TS-0001 TS-0002', 'TS-0001']);
    },
    'reports that are too short, empty or too long never reach the program as reports': (result: Malformed[]) => {
      expect(result).toHaveLength(4);
      for (const { numbers, closed } of result) {
        // The kernel drops them, or the transport ends the talk: either way only the sound answer counts.
        if (closed.length === 0) expect(numbers).toEqual([3]);
        else expect(closed[0]).toMatch(/expected 64; its firmware is damaged or it is no Tapstone tester/);
      }
    },
    'a firmware that stalls its IN endpoint is freed by the kernel and goes on': (result: { closed: string[] }) => {
      expect(result.closed).toEqual([]);
    },
    'a firmware that stalls its OUT endpoint fails the write by one sentence': (result: { said: string; closed: string[] }) => {
      expect(result.said).toBe(
        'tester TS-0001 takes no reports any more; pull it out and plug it in again',
      );
      expect(result.closed).toEqual([result.said]);
    },
    'a firmware that stalls its report descriptor gives no tester, and the next plug does': (result: { while: number }) => {
      expect(result.while).toBe(0);
    },
    'the check of the computer tells of a device that does not talk as a tester': (result: { text: string }) => {
      expect(result.text).toMatch(/^driver +right +node-hid loads \(hidapi \d/m);
      expect(result.text).toMatch(/^permission +right +TS-0001 opens$/m);
      expect(result.text).toMatch(/^firmware +WRONG +the device TS-0001 does not talk as a tester does .*\(nothing was driven\)$/m);
    },
    'opening a tester that is no longer there is one sentence': (result: { said: string }) => {
      expect(result.said).toBe('tester TS-0001 was pulled out while it was being opened; plug it in again');
    },
    'the firmware is enumerated by the kernel, which shows its descriptors as the standard wants them': (
      shown: Enumerated,
    ) => {
      expect(shown.attributes).toMatchObject({
        idVendor: '1209',
        idProduct: '0001',
        manufacturer: 'Tapstone',
        product: 'Tapstone tester',
        serial: 'TWIN-C001',
        speed: '12',
      });
      expect(shown.rawReport).toBe(Buffer.from(VENDOR_PAIR_64).toString('hex'));
      expectVendorPair(shown.parsedReport);
      expect(shown.descriptors.slice(0, 16)).toBe('1201000200000040');
      expect(shown.descriptors.slice(36)).toMatch(
        /^0902290001010080..0904000002030000000921110100012219000705810340000107050103400001$/,
      );
    },
    "the check of the computer finds everything right, the board's self-test included": (result: { text: string }) => {
      expect(result.text).toMatch(/^firmware +right .* with this program's measuring logic$/m);
      expect(result.text).toMatch(/^board +right +its self-test passed \(\d+ checks\)$/m);
      expect(result.text).toMatch(/^Everything is right\.$/m);
    },
    'a tester with another module is told apart before anything is driven': (result: { text: string; complaints: string[] }) => {
      const ours = logicModule().sha256.slice(0, 8);
      expect(result.text).toContain(`with another measuring logic (sha256 ${ours}) than this program's (sha256 abababab)`);
      expect(result.text).toMatch(/^board +open/m);
      expect(result.complaints).toEqual([]);
    },
    'a whole test by USB: evidence and result of chip and host are the same bytes': async (result: Summary) => {
      await expectSound('chip', result);
      expect(result.identity.moduleHash).toBe(logicModule().sha256);
    },
    '2000 reads are answered by 2000 blocks, and no report of the tester is lost': (result: object) => {
      expect(result).toMatchObject({ blocks: 2000, jumps: 0 });
    },
    'a host that floods is held up, not misunderstood': (result: object) => {
      expect(result).toMatchObject({ blocks: 500, jumps: 0 });
    },
    '300 reports of chance bytes are refused and the tester works on': (result: object) => {
      expect(result).toEqual({ kinds: ['refused'], closed: [], serial: 'TWIN-C001', complaints: [] });
    },
    'a firmware whose IN endpoint is halted is freed by the kernel and answers': (result: object) => {
      expect(result).toEqual({ serial: 'TWIN-C001' });
    },
    'a tester that nobody has open may be suspended, and wakes when it is opened': (result: object) => {
      expect(result).toEqual({ serial: 'TWIN-C001' });
    },
    'two testers at once, each with a whole test': async ([first, second]: Summary[]) => {
      await expectSound('chip', first!);
      await expectSound('chip2', second!);
    },
    'a host that is busy in the middle of a test gets it all': async (result: Summary & { busy: boolean }) => {
      expect(result.busy).toBe(true);
      await expectSound('chip2', result);
    },
    'a host that is busy while the samples of a touch come asks for them again': async (
      result: Summary & { busy: boolean },
    ) => {
      expect(result.busy).toBe(true);
      await expectSound('chip2', result);
    },
    'the cable is pulled at every step of a test, and each test comes to the same end': async (
      result: { steps: string[]; said: string[]; outcomes: Summary[] },
    ) => {
      // Steps that pass within one report to the host cannot be pulled at; these last longer.
      const long = ['guard', 'reference', 'resistance', 'inductance', 'listening', 'magnet', 'done'];
      expect(result.steps).toEqual(expect.arrayContaining(long));
      expect(result.said).toHaveLength(result.steps.length);
      for (const sentence of result.said) expect(sentence).toMatch(/^tester TWIN-C002 was unplugged; /);
      for (const outcome of result.outcomes) await expectSound('chip2', outcome);
    },
    'a tester that lost its power in the middle says that its test is gone': (result: Record<string, string>) => {
      expect(result.lost).toMatch(/^tester TWIN-C002 was unplugged; /);
      expect(result.said).toMatch(/^tester TWIN-C002 was without power in between and has forgotten its test/);
      expect(result.complaints).toEqual([]);
    },
  };

  it.each(cases.map(({ name }) => name))('%s', async (name) => {
    const result = seen<never>(name);
    await checks[name]?.(result);
  });

  it('has a case for each check', () => {
    const names = new Set(cases.map(({ name }) => name));
    expect(Object.keys(checks).filter((name) => !names.has(name))).toEqual([]);
  });

  it('ends with a verdict of the guest, and no connection broke by a fault of the protocol', () => {
    expect(run.fault).toBeNull();
    expect(run.passed).toBe(true);
    expect(desk.faults).toEqual([]);
  });
});

/** The firmware on the emulated chip, asked without a kernel in between. */
it('the firmware answers the table of chapter 9 requests, valid and not', async () => {
  const desk = new Desk(() => null);
  const [chip, other] = await layChips(desk, productImage());
  try {
    await chip!.plugIn();
    const table = requests({
      vendorId: 0x1209,
      productId: 0x0001,
      release_bcd: 0x0010,
      strings: ['Tapstone', 'Tapstone tester', CHIPS.chip!.serial],
      reportDescriptor: VENDOR_PAIR_64,
    });
    expect(await deviations(chip!, table)).toEqual([]);
    expect(await fulfilChip(chip!, { what: 'complaints', device: 'chip' })).toEqual([]);
  } finally {
    chip!.close();
    other!.close();
    await desk.close();
  }
});

const LOGIC = new URL('../../shared-logic/build/logic.wasm', import.meta.url);

type Summary = {
  readonly map: WireMap;
  readonly differences: string[];
  readonly problems: string[];
  readonly identity: { readonly moduleHash: string };
};

/** The test was complete, equal on chip and host, and says what the board twin says of the same pickup. */
async function expectSound(name: string, { map, differences, problems }: Summary): Promise<void> {
  expect(differences).toEqual([]);
  expect(problems).toEqual([]);
  const { pickup, seed } = CHIPS[name]!;
  const twin = new BoardTwin({ pickup, seed, automatic: true });
  const outcome = await new BenchTest(twin, { setup: setupOf(pickup), logic: createLogic() }).run();
  await twin.close();
  expectSameMap(map, outcome.map);
}

type Malformed = { readonly numbers: number[]; readonly closed: string[] };
type Enumerated = {
  readonly attributes: Record<string, string>;
  readonly descriptors: string;
  readonly rawReport: string;
  readonly parsedReport: string;
  readonly listed: object;
  readonly setups: string[];
};

/**
 * The kernel's own parser must read one input and one output report of 64 bytes without a report ID.
 * @param text - /sys/kernel/debug/hid/.../rdesc
 */
function expectVendorPair(text: string): void {
  const field = (kind: string): string[] => {
    const section = text.slice(text.indexOf(`${kind}[${kind}]`));
    const lines = section.split('\n').slice(1);
    const end = lines.findIndex((line) => /^\s{2}\w+\[/.test(line) || line === '');
    return lines.slice(0, end < 0 ? lines.length : end).map((line) => line.trim());
  };
  for (const kind of ['INPUT', 'OUTPUT']) {
    const lines = field(kind);
    expect(lines).toContain('Application(ff00.0001)');
    expect(lines).toContain('Logical Minimum(0)');
    expect(lines).toContain('Logical Maximum(255)');
    expect(lines).toContain('Report Size(8)');
    expect(lines).toContain('Report Count(64)');
    expect(lines).toContain('Flags( Variable Absolute )');
  }
  // With a report ID the kernel prints INPUT(1)[INPUT].
  expect(text).not.toMatch(/(INPUT|OUTPUT|FEATURE)\(\d+\)\[/);
  expect(text).not.toContain('FEATURE[');
}

/**
 * The real wire: unmodified node-hid in Debian's own kernel, which enumerates our devices through
 * USB/IP. One boot of an emulated PC runs all cases; they are listed in usb-kernel/guest/.
 */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { Desk } from './usb-kernel/desk.ts';
import { standInCases } from './usb-kernel/guest/stand-in-cases.ts';
import { writeInitramfs } from './usb-kernel/initramfs.ts';
import { CannotRun, fetchKernel } from './usb-kernel/kernel.ts';
import type { Kernel } from './usb-kernel/kernel.ts';
import { fulfilStandIn, layStandIns } from './usb-kernel/stand-in-desk.ts';
import { SAMPLE_MOUSE, VENDOR_PAIR_64 } from './usb-kernel/stand-in.ts';
import { boot, bootFolder, discard, requireQemu } from './usb-kernel/vm.ts';
import type { VmRun } from './usb-kernel/vm.ts';

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
  const desk = new Desk(fulfilStandIn);

  beforeAll(async () => {
    const { vmlinux } = kernel as Kernel;
    await layStandIns(desk);
    folder = await bootFolder();
    const image = `${folder}/image.cpio`;
    await writeInitramfs(image, kernel as Kernel, await desk.open());
    run = await boot(folder, vmlinux, image);
    for (const result of run.results as Told[]) told.set(result.name, result);
  }, 1_200_000);

  afterAll(async () => {
    await desk.close();
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

  const unplugged = 'tester TS-0001 was unplugged; plug it in again, what was measured is kept';

  /** What is held against what a case has seen, beside its own assertions in the guest. */
  const checks: Readonly<Record<string, (result: never) => void>> = {
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
        'tester TS-0001 takes no reports any more; pull it out and plug it in again, what was measured is kept',
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
  };

  it.each(standInCases.map(({ name }) => name))('%s', (name) => {
    const result = seen<never>(name);
    checks[name]?.(result);
  });

  it('has a case for each check', () => {
    const names = new Set(standInCases.map(({ name }) => name));
    expect(Object.keys(checks).filter((name) => !names.has(name))).toEqual([]);
  });

  it('ends with a verdict of the guest, and no connection broke by a fault of the protocol', () => {
    expect(run.fault).toBeNull();
    expect(run.passed).toBe(true);
    expect(desk.faults).toEqual([]);
  });
});

type Malformed = { readonly numbers: number[]; readonly closed: string[] };
type Enumerated = {
  readonly attributes: Record<string, string>;
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

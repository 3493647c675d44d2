import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { chooseTester, sift, watchTesters } from './discovery.ts';
import type { Found } from './discovery.ts';
import type { HidDriver, HidEntry } from './driver.ts';
import { PRODUCT, PRODUCT_ID, USAGE, USAGE_PAGE, VENDOR_ID } from './identity.ts';

const entry = (serialNumber: string, change: Partial<HidEntry> = {}): HidEntry => ({
  vendorId: 0x1209,
  productId: 0x0001,
  product: 'Tapstone tester',
  serialNumber,
  path: `/dev/hidraw-${serialNumber}`,
  usagePage: 0xff00,
  usage: 1,
  ...change,
});

describe('the devices on the bus', () => {
  it('are testers when identity, product name and usage page fit, in the order of their numbers', () => {
    const found = sift([entry('TS-0009'), entry('X', { vendorId: 0x1234 }), entry('TS-0002')]);
    expect(found).toEqual({
      testers: [
        { serial: 'TS-0002', path: '/dev/hidraw-TS-0002' },
        { serial: 'TS-0009', path: '/dev/hidraw-TS-0009' },
      ],
      foreign: [],
    });
  });

  it('are left alone and named when they have the identity but another name or usage page', () => {
    const found = sift([
      entry('1', { product: 'Blink\u001b[2J' }),
      entry('2', { usagePage: 1, usage: 6 }),
      entry('3', { product: undefined }),
    ]);
    expect(found.testers).toEqual([]);
    expect(found.foreign[0]).toBe(
      'a device with the test identity 1209:0001 calls itself "Blink\\x1b[2J" and is no Tapstone tester; it was left alone',
    );
    expect(found.foreign).toHaveLength(3);
  });

  it('are testers too where the system does not tell the usage page', () => {
    expect(sift([entry('1', { usagePage: undefined, usage: undefined })]).testers).toHaveLength(1);
  });
});

describe('the tester that is meant', () => {
  const found = sift([entry('TS-0002'), entry('TS-0009')]);
  const one = sift([entry('TS-0002')]);
  const none = sift([]);
  it('is the only one, or none', () => {
    expect(chooseTester(one, undefined, 'TS-0009')?.serial).toBe('TS-0002');
    expect(chooseTester(none, undefined, 'TS-0009')).toBeNull();
  });
  it('is the one of last time among several', () => {
    expect(chooseTester(found, undefined, 'TS-0009')?.serial).toBe('TS-0009');
  });
  it('is the one that the user names, whatever was chosen last time', () => {
    expect(chooseTester(found, 'TS-0002', 'TS-0009')?.serial).toBe('TS-0002');
  });
  it('has to be chosen among several', () => {
    expect(() => chooseTester(found, undefined, 'TS-0004')).toThrow(
      '2 testers are plugged in: TS-0002, TS-0009; choose one with --tester TS-0002',
    );
  });
  it('is missed by its number', () => {
    expect(() => chooseTester(one, 'TS-0004', undefined)).toThrow(
      'tester TS-0004 is not plugged in; plugged in: TS-0002',
    );
    expect(() => chooseTester(none, 'TS-0004', undefined)).toThrow(
      'tester TS-0004 is not plugged in; none is plugged in',
    );
  });
});

it('a watch tells the start and each change, not each look, and lives through a look that fails', async () => {
  const looks: (HidEntry[] | Error)[] = [
    [],
    [],
    [entry('A')],
    new Error('could not list'),
    [entry('A')],
    [entry('A'), entry('B')],
    [],
  ];
  const stop = new AbortController();
  const seen: string[] = [];
  const driver: HidDriver = {
    version: '0',
    async list() {
      const look = looks.shift();
      if (!look) {
        stop.abort();
        return [];
      }
      if (look instanceof Error) throw look;
      return look;
    },
    open: () => Promise.reject(new Error('not opened here')),
  };
  const tell = (found: Found): void => void seen.push(found.testers.map(({ serial }) => serial).join(' '));
  await watchTesters(driver, tell, stop.signal, () => Promise.resolve());
  expect(seen).toEqual(['', 'A', 'A B', '']);
});

it('the udev rule asks for the identity and the name that the program asks for', () => {
  const rule = readFileSync(new URL('../../udev/70-tapstone.rules', import.meta.url), 'utf8');
  const hex = (value: number): string => value.toString(16).padStart(4, '0');
  expect(rule).toContain(`ATTRS{idVendor}=="${hex(VENDOR_ID)}", ATTRS{idProduct}=="${hex(PRODUCT_ID)}"`);
  expect(rule).toContain(`ATTRS{product}=="${PRODUCT}"`);
  expect(USAGE_PAGE >= 0xff00 && USAGE === 1).toBe(true);
});

import assert from 'node:assert/strict';
import type { Bench, Case } from './cases.ts';
import { parsedReportDescriptor, plugInto, rawReportDescriptor, sysfsDevice, until } from './vhci.ts';

async function plugged(bench: Bench, rootPort: number, device: string, serial: string) {
  await plugInto(rootPort, bench.ports[device]!);
  const shown = await until(`${serial} in sysfs`, () => sysfsDevice(serial));
  const listed = await until(`${serial} listed by node-hid`, () =>
    bench.hid.devices().find((entry) => entry.serialNumber === serial),
  );
  return { shown, listed };
}

export const standInCases: readonly Case[] = [
  {
    name: 'the kernel enumerates the device and node-hid lists it',
    async run(bench) {
      const { shown, listed } = await plugged(bench, 0, 'first', 'TS-0001');
      return {
        ...shown,
        listed,
        rawReport: rawReportDescriptor(shown),
        parsedReport: parsedReportDescriptor(shown),
        setups: await bench.host.ask('setups', { device: 'first' }),
      };
    },
  },
  {
    name: 'echo',
    async run(bench) {
      const device = await bench.hid.HIDAsync.open(
        bench.hid.devices().find((entry) => entry.serialNumber === 'TS-0001')!.path!,
      );
      let got = 0;
      device.on('data', () => got++);
      for (let i = 0; i < 200; i++) await device.write([0, ...new Array(64).fill(i & 255)]);
      await until('200 replies', () => got === 200);
      await device.close();
      assert.equal(got, 200);
      return { got };
    },
  },
];

import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { renameSync } from 'node:fs';
import { checkPc, checkText } from '../../../host/src/cli/check.ts';
import { chooseTester, findTesters, watchTesters } from '../../../host/src/transport/discovery.ts';
import { loadDriver, messageOf } from '../../../host/src/transport/driver.ts';
import { HidTransport } from '../../../host/src/transport/hid.ts';
import type { Case } from './cases.ts';
import { inChild } from './child.ts';
import { numbers, openTester, plug, pull, report, rootPort } from './plugged.ts';
import { detach, parsedReportDescriptor, portIsFree, rawReportDescriptor, sysfsDevice, until } from './vhci.ts';

const ECHO = 0;
const BURST = 1;
const LIBRARIES = '/lib/x86_64-linux-gnu';

async function found() {
  return findTesters(await loadDriver());
}

/** Cases with devices that answer from tables: what the kernel, node-hid and the transport do. */
export const standInCases: readonly Case[] = [
  {
    name: 'the kernel enumerates a device and shows its descriptors as they were sent',
    async run(bench) {
      await plug(bench, 'first');
      const shown = await until('TS-0001 in sysfs', () => sysfsDevice('TS-0001'));
      await until('TS-0001 listed', async () => (await found()).testers.length === 1);
      const listed = bench.hid.devices().find((entry) => entry.serialNumber === 'TS-0001');
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
    name: '2000 reports go out and their 2000 answers come back, none lost, in order',
    async run() {
      const { transport, reports, closed } = await openTester('TS-0001');
      for (let i = 0; i < 2000; i++) await transport.write(report(ECHO, i));
      await until('2000 answers', () => reports.length >= 2000);
      await transport.close();
      assert.deepEqual(numbers(reports), Array.from({ length: 2000 }, (_, i) => i));
      assert.deepEqual(closed, []);
      return { answers: reports.length };
    },
  },
  {
    name: '60 writes started at once, as many as hidraw keeps answers of, are answered in order',
    async run() {
      const { transport, reports } = await openTester('TS-0001');
      await Promise.all(Array.from({ length: 60 }, (_, i) => transport.write(report(ECHO, i))));
      await until('60 answers', () => reports.length >= 60);
      await transport.close();
      assert.deepEqual(numbers(reports), Array.from({ length: 60 }, (_, i) => i));
    },
  },
  {
    name: 'a host that is busy while 60 reports come, as many as hidraw keeps, reads them all afterwards',
    async run() {
      const { transport, reports } = await openTester('TS-0001');
      // hidraw keeps 64 reports for each open file. The stand-in has no flow control, so more of them could be lost
      // whenever the reading thread is kept waiting; the firmware has, and its own case keeps the host busy for longer.
      await transport.write(report(BURST, 60));
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, 3000);
      const whileBusy = reports.length;
      await until('60 reports', () => reports.length >= 60);
      await transport.close();
      assert.deepEqual(numbers(reports), Array.from({ length: 60 }, (_, i) => i));
      return { whileBusy };
    },
  },
  {
    name: 'a tester that another program has open is refused by that program\'s name',
    async run() {
      const holder = spawn('/bin/sh', ['-c', 'exec 3<>/dev/hidraw0; echo ready; exec sleep 1000'], {
        stdio: ['ignore', 'pipe', 'inherit'],
      });
      await new Promise<void>((resolve) => holder.stdout.once('data', () => resolve()));
      const said = await openTester('TS-0001').then(() => 'opened', messageOf);
      holder.kill('SIGKILL');
      await new Promise<void>((resolve) => holder.once('exit', () => resolve()));
      return { said };
    },
  },
  {
    name: 'a tester that this user may not open is told apart',
    async run() {
      return inChild('openAsNobody');
    },
  },
  {
    name: 'a computer without libusb or libudev is told what to install',
    async run() {
      const said: Record<string, string> = {};
      for (const library of ['libusb-1.0.so.0', 'libudev.so.1']) {
        renameSync(`${LIBRARIES}/${library}`, `${LIBRARIES}/${library}.away`);
        try {
          said[library] = (await inChild<{ said: string }>('load')).said;
        } finally {
          renameSync(`${LIBRARIES}/${library}.away`, `${LIBRARIES}/${library}`);
        }
      }
      return said;
    },
  },
  {
    name: 'a tester that is pulled out says so, and works again when it is plugged in again',
    async run(bench) {
      const said: string[] = [];
      for (const how of ['cable', 'kernel', 'cable in a burst']) {
        const { transport, reports, closed } = await openTester('TS-0001');
        await transport.write(report(ECHO, 7));
        await until('an answer before the pull', () => reports.length === 1);
        if (how === 'kernel') detach(rootPort('first'));
        if (how === 'cable in a burst') {
          await transport.write(report(BURST, 400));
          await until('the burst', () => reports.length > 20);
        }
        if (how !== 'kernel') await bench.host.ask('pull', { device: 'first' });
        await until(`the pull noticed (${how})`, () => closed.length === 1);
        const after = await transport.write(report(ECHO, 8)).then(() => 'written', messageOf);
        await transport.close();
        await until('root port free', () => portIsFree(rootPort('first')));
        said.push(...closed, after);
        await plug(bench, 'first');
      }
      const { transport, reports } = await openTester('TS-0001');
      await transport.write(report(ECHO, 9));
      await until('an answer after three pulls', () => reports.length === 1);
      await transport.close();
      return { said };
    },
  },
  {
    name: 'two testers work side by side and are told apart by their numbers',
    async run(bench) {
      await plug(bench, 'second');
      await until('two testers', async () => (await found()).testers.length === 2);
      const both = await found();
      const unchosen = await Promise.resolve()
        .then(() => chooseTester(both, undefined, undefined))
        .then(() => 'chosen', messageOf);
      const pair = await Promise.all(['TS-0001', 'TS-0002'].map((serial) => openTester(serial)));
      await Promise.all(
        pair.map(async ({ transport }, which) => {
          for (let i = 0; i < 200; i++) await transport.write(report(ECHO, 1000 * which + i));
        }),
      );
      await until('all answers', () => pair.every(({ reports }) => reports.length >= 200));
      for (const [which, { transport, reports }] of pair.entries()) {
        await transport.close();
        assert.deepEqual(numbers(reports), Array.from({ length: 200 }, (_, i) => 1000 * which + i));
      }
      return { serials: both.testers.map(({ serial }) => serial), unchosen };
    },
  },
  {
    name: 'a mouse and a foreign device with the test identity beside them are left alone',
    async run(bench) {
      await plug(bench, 'mouse');
      await plug(bench, 'impostor');
      await until('the mouse', () => bench.hid.devices().some(({ product }) => product === 'Mouse'));
      await until('the impostor', async () => (await found()).foreign.length > 0);
      const { testers, foreign } = await found();
      const mouse = parsedReportDescriptor(await until('the mouse in sysfs', () => sysfsDevice('M-1')));
      await pull(bench, 'mouse');
      await pull(bench, 'impostor');
      return { serials: testers.map(({ serial }) => serial), foreign, mouse };
    },
  },
  {
    name: 'a watch sees testers come and go',
    async run(bench) {
      const stop = new AbortController();
      const seen: string[] = [];
      const watching = watchTesters(
        await loadDriver(),
        ({ testers }) => void seen.push(testers.map(({ serial }) => serial).join(' ')),
        stop.signal,
      );
      await until('both seen', () => seen.at(-1) === 'TS-0001 TS-0002');
      await pull(bench, 'second');
      await until('one seen', () => seen.at(-1) === 'TS-0001');
      await plug(bench, 'second');
      await until('both seen again', () => seen.at(-1) === 'TS-0001 TS-0002');
      await pull(bench, 'second');
      await until('one seen at last', () => seen.at(-1) === 'TS-0001');
      stop.abort();
      await watching;
      return { seen };
    },
  },
  {
    name: 'reports that are too short, empty or too long never reach the program as reports',
    async run(bench) {
      const seen = [];
      for (const length_bytes of [3, 0, 65, 63]) {
        const { transport, reports, closed } = await openTester('TS-0001');
        await bench.host.ask('send', { device: 'first', length_bytes });
        const written = transport.write(report(ECHO, 3)).then(() => 'written', messageOf);
        await until('an answer or the end', () => reports.length > 0 || closed.length > 0);
        await transport.close();
        seen.push({ length_bytes, numbers: numbers(reports), closed, written: await written });
      }
      return seen;
    },
  },
  {
    name: 'a firmware that stalls its IN endpoint is freed by the kernel and goes on',
    async run(bench) {
      await bench.host.ask('halt', { device: 'first', endpoint: 0x81 });
      const { transport, reports, closed } = await openTester('TS-0001');
      await until('the halt cleared', async () => !(await bench.host.ask('halted', { device: 'first', endpoint: 0x81 })));
      await transport.write(report(ECHO, 5));
      await until('an answer', () => reports.length === 1);
      await transport.close();
      return { closed };
    },
  },
  {
    name: 'a firmware that stalls its OUT endpoint fails the write by one sentence',
    async run(bench) {
      await bench.host.ask('halt', { device: 'first', endpoint: 0x01 });
      const { transport, closed } = await openTester('TS-0001');
      const said = await transport.write(report(ECHO, 5)).then(() => 'written', messageOf);
      await transport.close();
      await pull(bench, 'first');
      await plug(bench, 'first');
      return { said, closed };
    },
  },
  {
    name: 'a firmware that stalls its report descriptor gives no tester, and the next plug does',
    async run(bench) {
      await pull(bench, 'first');
      await bench.host.ask('refuse', { device: 'first', setup: '81060022' });
      await plug(bench, 'first');
      await until('the kernel has asked for it', async () =>
        (await bench.host.ask<string[]>('setups', { device: 'first' })).some((setup) => setup.startsWith('81060022')),
      );
      const { testers } = await found();
      await bench.host.ask('accept', { device: 'first' });
      await pull(bench, 'first');
      await plug(bench, 'first');
      await until('TS-0001 listed', async () => (await found()).testers.length === 1);
      return { while: testers.length };
    },
  },
  {
    name: 'the check of the computer tells of a device that does not talk as a tester',
    async run() {
      const driver = await loadDriver();
      const lines = await checkPc({
        platform: process.platform,
        moduleHash: '00'.repeat(32),
        load: async () => driver,
        rules: async () => [],
        mayAll: true,
      });
      return { text: checkText(lines) };
    },
  },
  {
    name: 'opening a tester that is no longer there is one sentence',
    async run(bench) {
      const driver = await loadDriver();
      const tester = await until('TS-0001', async () => (await found()).testers[0]);
      await pull(bench, 'first');
      const said = await new HidTransport(driver, tester).open().then(() => 'opened', messageOf);
      return { said };
    },
  },
];

import { chmod, mkdir, mkdtemp, rm, symlink, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import type { HidConnection, HidDriver } from './driver.ts';
import { HidTransport, openSentence } from './hid.ts';
import { holdersOf } from './holders.ts';

class Connection implements HidConnection {
  data: (data: Uint8Array) => void = () => undefined;
  error: (error: unknown) => void = () => undefined;
  readonly written: string[] = [];
  closed = 0;
  refuse: string | null = null;

  on(event: string, listener: (value: never) => void): void {
    if (event === 'data') this.data = listener as (data: Uint8Array) => void;
    else this.error = listener as (error: unknown) => void;
  }
  async write(data: Buffer): Promise<number> {
    if (this.refuse) throw new Error(this.refuse);
    this.written.push(data.toString('hex'));
    return data.length;
  }
  async close(): Promise<void> {
    this.closed += 1;
    if (this.closed > 1) throw new TypeError('device is already closed');
  }
}

function bench(open?: () => Promise<HidConnection>) {
  const connection = new Connection();
  const driver: HidDriver = {
    version: '0',
    list: async () => [],
    open: open ?? (async () => connection),
  };
  const transport = new HidTransport(driver, { serial: 'TS-0007', path: 'usb:7' });
  const closed: string[] = [];
  const reports: Uint8Array[] = [];
  transport.onClosed = ({ sentence }) => void closed.push(sentence);
  transport.onReport = (report) => void reports.push(report);
  return { connection, transport, closed, reports };
}

const report = (value: number): Uint8Array => new Uint8Array(64).fill(value);

describe('a tester on the wire', () => {
  it('writes each report behind report ID 0, in order, all started at once', async () => {
    const { connection, transport } = bench();
    await transport.open();
    await Promise.all([1, 2, 3].map((value) => transport.write(report(value))));
    expect(connection.written).toEqual(['01', '02', '03'].map((byte) => `00${byte.repeat(64)}`));
  });

  it('hands on the reports that come, as bytes of its own', async () => {
    const { connection, transport, reports } = bench();
    await transport.open();
    const buffer = Buffer.alloc(64, 5);
    connection.data(buffer);
    buffer.fill(6);
    expect(reports).toEqual([report(5)]);
  });

  it('refuses to write what is no report, before it is sent', async () => {
    const { connection, transport } = bench();
    await transport.open();
    await expect(transport.write(new Uint8Array(63))).rejects.toThrow(RangeError);
    expect(connection.written).toEqual([]);
  });

  it.each([
    ['a string, as HIDAsync gives it', 'could not read from HID device: hid_read_timeout: unexpected poll error (device disconnected)'],
    ['an object, as HID gives it', { message: 'could not read from HID device' + ': No such device' }],
  ])('that is pulled out says so once and is let go (%s)', async (_, error) => {
    const { connection, transport, closed } = bench();
    await transport.open();
    connection.error(error);
    connection.error(error);
    connection.refuse = 'Cannot write to hid device: No such device';
    await expect(transport.write(report(1))).rejects.toThrow('was unplugged');
    await transport.close();
    expect(closed).toEqual(['tester TS-0007 was unplugged; plug it in again']);
    expect(connection.closed).toBe(1);
  });

  it('that is noticed as gone by a write says so once', async () => {
    const { connection, transport, closed } = bench();
    await transport.open();
    connection.refuse = 'Cannot write to hid device: No such device';
    const first = transport.write(report(1));
    const second = transport.write(report(2));
    await expect(first).rejects.toThrow('tester TS-0007 was unplugged');
    await expect(second).rejects.toThrow('tester TS-0007 was unplugged');
    expect(closed).toHaveLength(1);
  });

  it.each(['Connection timed out', 'Broken pipe'])('that takes no reports is told apart from one that is gone: %s', async (why) => {
    const { connection, transport, closed } = bench();
    await transport.open();
    connection.refuse = `Cannot write to hid device: ${why}`;
    await expect(transport.write(report(1))).rejects.toThrow('takes no reports any more');
    expect(closed).toHaveLength(1);
  });

  it.each([0, 3, 63, 65])('that sends %i bytes is no tester: it is let go and nothing is handed on', async (length) => {
    const { connection, transport, closed, reports } = bench();
    await transport.open();
    connection.data(Buffer.alloc(length));
    connection.data(Buffer.alloc(64));
    expect(reports).toEqual([]);
    expect(closed[0]).toContain(`sent a report of ${length} bytes, expected 64`);
    expect(connection.closed).toBe(1);
  });

  it('closed by us says nothing, and may be closed twice', async () => {
    const { connection, transport, closed, reports } = bench();
    await transport.open();
    await transport.close();
    await transport.close();
    connection.data(Buffer.alloc(64));
    connection.error('device has been closed');
    expect([closed, reports, connection.closed]).toEqual([[], [], 1]);
    await expect(transport.write(report(1))).rejects.toThrow('is not open');
  });

  it('that was never opened takes nothing', async () => {
    await expect(bench().transport.write(report(1))).rejects.toThrow('tester TS-0007 is not open');
  });

  it.each([
    ['cannot open device with path /dev/hidraw0: Permission denied', /may not be opened by this user; run tapstone check/],
    ['cannot open device with path /dev/hidraw0: No such file or directory', /pulled out while it was being opened/],
    // From memory: what macOS (IOKit) and Windows say of a device that is held.
    ['cannot open device: (0xE00002C5) (iokit/common) exclusive access and device already open', /in use by another program/],
    ['CreateFile: The process cannot access the file because it is being used by another process', /in use by another program/],
    ['\u0007odd', /does not open \(\\x07odd\)/],
  ])('does not open: %s', async (message, sentence) => {
    expect(openSentence('TS-0007', message)).toMatch(sentence);
    await expect(bench(() => Promise.reject(message)).transport.open()).rejects.toThrow(sentence);
  });
});

describe('programs that hold a device', () => {
  it('are found in the process table by the files that they have open', async () => {
    const proc = await mkdtemp(join(tmpdir(), 'tapstone-proc-'));
    const add = async (pid: string, name: string, target: string): Promise<void> => {
      await mkdir(join(proc, pid, 'fd'), { recursive: true });
      await symlink(target, join(proc, pid, 'fd', '7'));
      await writeFile(join(proc, pid, 'comm'), name);
    };
    await add('100', 'bench\u001b[1m\n', '/dev/hidraw0');
    await add('101', 'other\n', '/dev/hidraw1');
    await add(String(process.pid), 'ourselves\n', '/dev/hidraw0');
    await mkdir(join(proc, 'sys'));
    await mkdir(join(proc, '102', 'fd'), { recursive: true });
    await chmod(join(proc, '102', 'fd'), 0);
    expect(await holdersOf('/dev/hidraw0', proc)).toEqual([{ pid: 100, name: 'bench\\x1b[1m' }]);
    expect(await holdersOf('/dev/hidraw0', join(proc, 'nowhere'))).toEqual([]);
    await rm(proc, { recursive: true, force: true });
  });
});

import { describe, expect, it } from 'vitest';
import { driverSentence, loadDriver, messageOf } from './driver.ts';
import { TransportError } from './transport.ts';

describe('the USB driver', () => {
  it('loads here and lists without a device', async () => {
    const driver = await loadDriver();
    expect(driver.version).toMatch(/^\d+\.\d+\.\d+$/);
    expect(Array.isArray(await driver.list())).toBe(true);
  });

  it('that does not load is told by the sentence that mends it, as an error of the wire', async () => {
    const load = () => Promise.reject(new Error('libusb-1.0.so.0: cannot open shared object file: No such file or directory'));
    await expect(loadDriver(load)).rejects.toThrow(TransportError);
    await expect(loadDriver(load)).rejects.toThrow(
      'the USB driver cannot load: libusb-1.0.so.0 is missing; on Debian: sudo apt-get install libusb-1.0-0',
    );
  });

  it.each([
    ['libudev.so.1: cannot open shared object file: No such file or directory', /libudev1$/],
    ['libfoo.so.2: cannot open shared object file: No such file or directory', /libfoo.so.2 is missing; install the package/],
    ["Cannot find package 'node-hid' imported from /x/driver.ts", /not installed; install tapstone again/],
    ['Failed to find binding for HID_hidraw\nTried paths:\n - /x', /no build for this machine \(linux\)/],
    ['\u001b[2Jversion mismatch\nsecond line', /^[^\u001b\n]*\\x1b\[2Jversion mismatch\); install tapstone again$/],
  ])('%s', (message, sentence) => {
    expect(driverSentence(message, 'linux')).toMatch(sentence);
  });

  it('may fail with a plain string, an object, or nothing of use', () => {
    expect([messageOf('a'), messageOf(new Error('b')), messageOf({ message: 'c' }), messageOf(undefined)]).toEqual([
      'a',
      'b',
      'c',
      'undefined',
    ]);
  });
});

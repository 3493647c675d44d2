/**
 * What rp2040js 1.4.1 does otherwise than the chip, one test for each patch of host/src/chip-twin/patches:
 * it shows the emulator's fault as it comes from npm, and fails when the emulator has mended it (then the
 * patch can go), and it shows the patch.
 */
import { RP2040 } from 'rp2040js';
import { describe, expect, it } from 'vitest';
import { BusFault, Chip } from '../../host/src/chip-twin/chip.ts';
import { patchAdcRoundRobin } from '../../host/src/chip-twin/patches/adc-round-robin.ts';
import { wakeIfOwed } from '../../host/src/chip-twin/patches/sleep-wakes.ts';
import { patchUsbInWaits } from '../../host/src/chip-twin/patches/usb-in-waits.ts';
import { patchUsbStall } from '../../host/src/chip-twin/patches/usb-stall.ts';
import { patchUsbSuspend } from '../../host/src/chip-twin/patches/usb-suspend.ts';
import { patchWatchdogStops } from '../../host/src/chip-twin/patches/watchdog-stops.ts';

type Clock = { nanos: number; nanosToNextAlarm: number; tick(delta_ns: number): void };
const clockOf = (mcu: RP2040): Clock => mcu.clock as unknown as Clock;
const ADC_CS = 0x4004c000;
const USB_REGISTERS = 0x50110000;
const EP1_IN_CONTROL = 0x50100088;
const WATCHDOG = 0x40058000;

/** Inputs that a round robin over all four converts, in order. */
function roundRobin(mcu: RP2040): number[] {
  const inputs: number[] = [];
  mcu.adc.onADCRead = (channel) => void inputs.push(channel);
  mcu.writeUint32(ADC_CS, 1 | (15 << 16) | (1 << 3));
  for (let turn = 0; turn < 7; turn++) mcu.adc.completeADCRead(0, false);
  return inputs;
}

describe('ADC round robin', () => {
  it('falls back to input 0 as the emulator comes', () => {
    expect(roundRobin(new RP2040())).not.toEqual([0, 1, 2, 3, 0, 1, 2, 3]);
  });
  it('takes the inputs in turn with the patch', () => {
    const mcu = new RP2040();
    patchAdcRoundRobin(mcu);
    expect(roundRobin(mcu)).toEqual([0, 1, 2, 3, 0, 1, 2, 3]);
  });
});

describe('USB IN buffers', () => {
  const arm = (mcu: RP2040): boolean => {
    mcu.writeUint32(EP1_IN_CONTROL, (1 << 15) | (1 << 10) | 64);
    return (mcu.readUint32(EP1_IN_CONTROL) & (1 << 10)) !== 0;
  };
  it('are collected at once, with no host, as the emulator comes', () => {
    expect(arm(new RP2040())).toBe(false);
  });
  it('wait for the host with the patch, and go when it asks', () => {
    const mcu = new RP2040();
    const held = patchUsbInWaits(mcu);
    expect(arm(mcu)).toBe(true);
    expect(held.release(1)).toBe(true);
    expect(held.has(1)).toBe(false);
    expect(held.release(1)).toBe(false);
  });
});

describe('USB stall', () => {
  const stallThenSetup = (mcu: RP2040): number => {
    mcu.writeUint32(USB_REGISTERS + 0x68, 3);
    mcu.usbCtrl.sendSetupPacket(new Uint8Array(8));
    return mcu.readUint32(USB_REGISTERS + 0x68);
  };
  it('outlives the next SETUP as the emulator comes', () => {
    expect(stallThenSetup(new RP2040())).toBe(3);
  });
  it('ends with the next SETUP with the patch (RP2040 data sheet 4.1.2.5.2)', () => {
    const mcu = new RP2040();
    patchUsbStall(mcu);
    expect(stallThenSetup(mcu)).toBe(0);
  });
});

describe('USB suspend', () => {
  const SIE_STATUS = USB_REGISTERS + 0x50;
  const suspendThenClear = (mcu: RP2040): number => {
    (mcu.usbCtrl as unknown as { sieStatus: number }).sieStatus |= 1 << 4;
    mcu.writeUint32(SIE_STATUS, 1 << 4);
    return mcu.readUint32(SIE_STATUS) & (1 << 4);
  };
  it('cannot be cleared by writing a one as the emulator comes', () => {
    expect(suspendThenClear(new RP2040())).not.toBe(0);
  });
  it('with the patch is a state that writing leaves alone; both its changes interrupt until a one is written (RP2040 data sheet 4.1.4)', () => {
    const mcu = new RP2040();
    const bus = patchUsbSuspend(mcu);
    const told = (): boolean[] => [(mcu.readUint32(SIE_STATUS) & (1 << 4)) !== 0, (mcu.readUint32(USB_REGISTERS + 0x8c) & (1 << 14)) !== 0];
    expect(told()).toEqual([false, false]);
    bus.suspend();
    expect(told()).toEqual([true, true]);
    mcu.writeUint32(SIE_STATUS, 1 << 4);
    expect(told()).toEqual([true, false]);
    bus.resume();
    clockOf(mcu).tick(21e6);
    expect(told()).toEqual([false, true]);
    mcu.writeUint32(SIE_STATUS, 1 << 4);
    expect(told()).toEqual([false, false]);
  });
});

describe('watchdog', () => {
  const bite = (mcu: RP2040): void => {
    mcu.writeUint32(WATCHDOG + 4, 2000);
    mcu.writeUint32(WATCHDOG, 1 << 30);
    for (let i = 0; i < 3; i++) clockOf(mcu).tick(1e6);
  };
  it('bites over and over at the same moment as the emulator comes', () => {
    const mcu = new RP2040();
    let bites = 0;
    (mcu.peripherals[0x40058] as unknown as { onWatchdogTrigger(): void }).onWatchdogTrigger = () => {
      bites++;
      // Without this stop the clock would never move on.
      if (bites === 100) (mcu.peripherals[0x40058] as unknown as { alarm: { enable: boolean } }).alarm.enable = false;
    };
    bite(mcu);
    expect(bites).toBe(100);
  });
  it('bites once with the patch', () => {
    const mcu = new RP2040();
    let bites = 0;
    patchWatchdogStops(mcu, () => { bites++; });
    bite(mcu);
    expect(bites).toBe(1);
  });
});

describe('sleep', () => {
  /** A core that sleeps while an interrupt is pending that came before the sleep. */
  const asleep = (): RP2040 => {
    const mcu = new RP2040();
    mcu.core.enabledInterrupts = 1;
    mcu.core.PM = true;
    mcu.core.setInterrupt(0, true);
    mcu.core.waiting = true;
    return mcu;
  };
  it('is not ended by an interrupt that was pending before as the emulator comes', () => {
    const mcu = asleep();
    mcu.core.setInterrupt(0, true);
    expect(mcu.core.waiting).toBe(true);
  });
  it('is ended with the patch, and only then', () => {
    const mcu = asleep();
    expect(wakeIfOwed(mcu)).toBe(true);
    expect(mcu.core.waiting).toBe(false);
    const idle = new RP2040();
    idle.core.waiting = true;
    expect(wakeIfOwed(idle)).toBe(false);
  });
});

describe('bus', () => {
  const chip = new Chip({ powerOn: true }, { uniqueId: new Uint8Array(8) });
  const faults: readonly (readonly [string, () => unknown])[] = [
    ['a 32-bit read at an address that is no multiple of 4', () => chip.mcu.readUint32(0x20000002)],
    ['a 16-bit read at an odd address', () => chip.mcu.readUint16(0x20000001)],
    ['a 32-bit write at an address that is no multiple of 4', () => chip.mcu.writeUint32(0x20000001, 0)],
    ['a 16-bit write at an odd address', () => chip.mcu.writeUint16(0x20000003, 0)],
    ['a read below the RAM, where the stack would run to', () => chip.mcu.readUint32(0x1ffffffc)],
    ['a write below the RAM', () => chip.mcu.writeUint32(0x1ffffffc, 0)],
    ['a write above the RAM', () => chip.mcu.writeUint32(0x20042000, 0)],
    ['a write to an alias of the flash that does not cache', () => chip.mcu.writeUint32(0x13001000, 0)],
    ['a read where no peripheral is', () => chip.mcu.readUint32(0x60000000)],
  ];
  it.each(faults)('faults at %s', (_, access) => {
    expect(access).toThrow(BusFault);
  });
  it('passes aligned accesses of every width', () => {
    chip.mcu.writeUint32(0x20000100, 0x12345678);
    chip.mcu.writeUint16(0x20000102, 0xabcd);
    chip.mcu.writeUint8(0x20000101, 0xef);
    expect(chip.mcu.readUint32(0x20000100)).toBe(0xabcdef78);
    expect(chip.mcu.readUint16(0x20000100)).toBe(0xef78);
    expect(chip.mcu.readUint8(0x20000103)).toBe(0xab);
  });
});

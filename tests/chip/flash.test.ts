/** The flash and the image that is flashed: second stage, reads, unique number, and the address that a host gives. */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { functionOf, linkerLines, placed, readList, sectionsOf } from '../../firmware/in-ram.ts';
import { Chip } from '../../host/src/chip-twin/chip.ts';
import { symbolsOf } from '../../host/src/chip-twin/elf.ts';
import { HAND_OVER_cycles } from '../../host/src/chip-twin/flash-interface.ts';
import { readImage } from '../../host/src/chip-twin/image.ts';
import { Machine } from '../../host/src/chip-twin/machine.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { until } from './bench.ts';
import { productImage } from './images.ts';

const XIP = 0x10000000;
const RAM = 0x20000000;
const image = productImage();

describe('the second stage', () => {
  const started = (quadEnabled: boolean): Chip => {
    const chip = new Chip({ powerOn: true }, { uniqueId: new Uint8Array(8), quadEnabled });
    for (const { address, bytes } of readImage(image).segments) chip.mcu.flash.set(bytes, address - XIP);
    chip.start();
    for (let i = 0; i < 1000 && chip.mcu.core.VTOR === 0; i++) chip.step();
    return chip;
  };
  it.each([true, false])('leaves the part in continuous quad reads at 50 cycles a word, with its quad bit set before: %s', (quadEnabled) => {
    const chip = started(quadEnabled);
    expect(chip.mcu.core.VTOR).toBe(XIP + 0x100);
    expect(chip.flash.word_cycles).toBe(2 * (6 + 2 + 4 + 8) + HAND_OVER_cycles);
    chip.mcu.readUint32(XIP + 0x10000);
    expect(chip.flash.takeStall()).toBe(50);
    expect(chip.complaints).toEqual([]);
  });
});


describe('the unique number', () => {
  it('becomes the serial number where the calibration page has none, and flash can be read as before', () => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: '', automatic: false });
    machine.run(1e8);
    const at = machine.symbol('identity').address - RAM + 16;
    expect(Buffer.from(machine.chip.mcu.sram.subarray(at, at + 16)).toString('latin1')).toBe('5457494E00000001');
    expect(machine.chip.flash.word_cycles).toBe(50);
    expect([...machine.complaints, ...machine.chip.complaints]).toEqual([]);
  });
});

describe('the host of the twin', () => {
  it('gives a device 2 ms after SET_ADDRESS before it asks it anything (USB 2.0, 9.2.6.3)', async () => {
    const machine = new Machine({ image: readImage(image), pickup: demoLot[0], seed: 1, serial: 'TWIN-C001', automatic: false });
    machine.run(1e8);
    const setups: { at_s: number; request: number }[] = [];
    const { usbCtrl } = machine.chip.mcu;
    const send = usbCtrl.sendSetupPacket.bind(usbCtrl);
    usbCtrl.sendSetupPacket = (setup) => {
      setups.push({ at_s: machine.time_s, request: setup[1]! });
      send(setup);
    };
    const plugged = machine.usb.plugIn();
    const configured = machine.usb.control(Uint8Array.of(0, 9, 1, 0, 0, 0, 0, 0));
    await until(machine, Promise.all([plugged, configured]));
    expect(setups.map(({ request }) => request)).toEqual([5, 9]);
    expect(setups[1]!.at_s - setups[0]!.at_s).toBeGreaterThan(2e-3);
  });
});

describe('code in RAM', () => {
  const symbols = symbolsOf(new Uint8Array(readFileSync(image)));
  it.each(['timer_0_isr', 'timer_1_isr', 'timer_3_isr', 'usb_isr', 'dma_0_isr', 'io_bank0_isr', 'pendsv_isr'])('is %s', (name) => {
    expect(symbols.get(name)!.address).toBeGreaterThanOrEqual(RAM);
  });
  it('is none of what runs before it is copied', () => {
    expect(symbols.get('reset_entry')!.address).toBeLessThan(RAM);
  });
});

describe('the list of what runs from RAM', () => {
  const map = [
    'Discarded input sections', ' .text.gone     0x00000000       0x64 /out/a.o', 'Linker script and memory map',
    ' .text.first    0x10000200       0x10 /out/a.o', ' .text.a_name_too_long_for_the_column', '                0x10000210       0x22 /out/a.o',
    ' .text          0x10000240       0x30 /lib/thumb/libgcc.a(mulsf3.o)', '',
  ].join('\n');
  it('finds sections in the linker\'s map, those of libraries by archive and member', () => {
    expect(sectionsOf(map)).toEqual([
      { object: 'a.o', section: '.text.first', address: 0x10000200, bytes: 16 },
      { object: 'a.o', section: '.text.a_name_too_long_for_the_column', address: 0x10000210, bytes: 34 },
      { object: 'libgcc.a:mulsf3.o', section: '.text', address: 0x10000240, bytes: 48 },
    ]);
  });
  it('is followed in its order as far as there is room, past what does not fit and what there is no more', () => {
    const list = readList('# why\nlibgcc.a:mulsf3.o .text  48 bytes\na.o .text.gone\na.o .text.a_name_too_long_for_the_column\na.o .text.first\n');
    expect(placed(list, map, 66).map(({ section }) => section)).toEqual(['.text', '.text.first']);
    expect(placed(list, map, 84).map(({ section }) => section)).toEqual(['.text', '.text.a_name_too_long_for_the_column']);
    expect(linkerLines([{ object: 'a.o', section: '.text.first' }])).toMatch(/^\*a\.o\(\.text\.first \.text\.first\.isra\* /);
  });
  it('takes the variants that the compiler makes of a function for the function', () => {
    expect(['.text.f.isra.0', '.text.f.part.0.constprop.0', '.text.f.cold', '.text.f', '.text.party'].map(functionOf))
      .toEqual(['.text.f', '.text.f', '.text.f', '.text.f', '.text.party']);
  });
});

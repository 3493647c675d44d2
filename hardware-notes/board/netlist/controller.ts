/** The RP2040 with flash, crystal and USB; button, lights, wand, test points; the pulls that hold its lines in reset. */
import * as bought from './bought.ts';
import type { Netlist } from './model.ts';
import { at, TwoEnds } from './place.ts';
import { GPIO, GPIO_FREE } from './pins.ts';

/** Where the controller stands; turned half round its ADC and the converter's pins look left and USB looks down. */
export const CONTROLLER_AT = at(88, 39, 180);

/** Words printed beside test points whose net has a long name. */
export const PRINTED: Readonly<Record<string, string>> = {
  V_PLUS: 'V+', V_MINUS: 'V-', CLAMP_HIGH: 'CL+', CLAMP_LOW: 'CL-', PLUS_1V8: '+1.8', MINUS_1V8: '-1.8', UART_TX: 'TX', REFOUT: 'REF',
};

/** Pulls on lines that must stand still in reset, ohms; the pads' own are 50 to 80 k down (RP2040 data sheet, from memory). */
const PULL_OHM = 10e3;

export function addController(netlist: Netlist): void {
  const ends = new TwoEnds(netlist, 'controller', 951);
  const { x, y } = CONTROLLER_AT;
  netlist.add('U1', bought.CONTROLLER, 'controller', {
    ...Object.fromEntries(GPIO.map(({ name, gpio }) => [`GPIO${gpio}`, name])),
    IOVDD: '3V3', USB_VDD: '3V3', VREG_VIN: '3V3', VREG_VOUT: '1V1', DVDD: '1V1', ADC_AVDD: '3V0', GND: 'GND', TESTEN: 'GND', RUN: 'RUN',
    XIN: 'XIN', XOUT: 'XOUT', SWCLK: 'SWCLK', SWDIO: 'SWDIO', USB_DM: 'USB_MINUS', USB_DP: 'USB_PLUS',
    QSPI_SS: 'QSPI_SS', QSPI_SCLK: 'QSPI_SCLK', QSPI_SD0: 'QSPI_SD0', QSPI_SD1: 'QSPI_SD1', QSPI_SD2: 'QSPI_SD2', QSPI_SD3: 'QSPI_SD3',
  }, CONTROLLER_AT, { open: GPIO_FREE.map((gpio) => `GPIO${gpio}`) });
  // Decoupling with its supply end at the pin. Side and distance along it as seen on the board.
  const decouple = (side: 'left' | 'right' | 'up' | 'down', along: number, net: string, farad = 100e-9, away = 5.3): void => {
    const [dx, dy, way] = ({ left: [-away, along, 'right'], right: [away, along, 'left'], up: [along, -away, 'down'], down: [along,
      away, 'up'] } as const)[side];
    ends.c(farad, net, 'GND', x + dx, y + dy, way, bought.C0402);
  };
  for (const [side, along] of [['right', -1], ['up', -0.2], ['left', -1], ['left', 2.6], ['down', -3.4], ['down', -0.1]] as const) decouple(side, along, '3V3');
  // Beside the mark of pin 1.
  decouple('right', 2.6, '3V3', 100e-9, 5.6);
  decouple('up', -1.3, '1V1');
  decouple('down', -2.4, '1V1', 1e-6);
  decouple('down', 0.9, '1V1');
  decouple('down', -4.4, '3V0');

  netlist.add('Y1', bought.CRYSTAL, 'controller', { '#1': 'CRYSTAL', '#2': 'XIN' }, at(88.9, 28.1), { value: '12 MHz' });
  ends.r(1000, 'XOUT', 'CRYSTAL', 87.4, 32, 'right');
  ends.c(27e-12, 'XIN', 'GND', 92.9, 32, 'left', bought.C0603_C0G);
  ends.c(27e-12, 'CRYSTAL', 'GND', 83.4, 32, 'right', bought.C0603_C0G);

  netlist.add('U2', bought.FLASH, 'controller', {
    CS: 'QSPI_SS', CLK: 'QSPI_SCLK', IO0: 'QSPI_SD0', IO1: 'QSPI_SD1', IO2: 'QSPI_SD2', IO3: 'QSPI_SD3', VCC: '3V3', GND: 'GND',
  }, at(92.9, 51.4, 270));
  ends.c(100e-9, '3V3', 'GND', 98.2, 54.6, 'up');
  ends.r(PULL_OHM, '3V3', 'QSPI_SS', 97, 45, 'up');
  ends.r(1000, 'QSPI_SS', 'BOOT', 98.3, 59.8, 'down');
  netlist.add('SW2', bought.BUTTON, 'controller', { '#1': 'BOOT', '#2': 'GND' }, at(93, 60.4), { value: 'BOOT' });
  netlist.add('J8', bought.HEADER3, 'controller', { '#1': 'SWCLK', '#2': 'GND', '#3': 'SWDIO' }, at(98, 29), { value: 'SWD' });
  ends.r(PULL_OHM, '3V3', 'RUN', 82.6, 24, 'left');

  ends.r(27, 'USB_MINUS', 'USB_MINUS_IN', 86, 48.2, 'up');
  ends.r(27, 'USB_PLUS', 'USB_PLUS_IN', 87.6, 48.2, 'up');
  netlist.add('U3', bought.ESD, 'controller', { '#1': 'USB_MINUS_IN', '#6': 'USB_MINUS_IN', '#3': 'USB_PLUS_IN', '#4': 'USB_PLUS_IN', VBUS: 'VBUS', GND: 'GND' }, at(86.8, 68.8, 90));

  // Lines that must stand still while the chip is in reset.
  ends.r(PULL_OHM, '3V3', 'SWITCH_OE', 82.6, 22.3);
  ends.r(PULL_OHM, '3V3', 'CONVERTER_CS', 68.4, 24.0);
  ends.r(PULL_OHM, 'CONVERTER_RESET', 'GND', 80.6, 34.6);
  ends.r(PULL_OHM, 'CONVERTER_START', 'GND', 68.4, 22.3, 'right');

  netlist.add('SW1', bought.BUTTON, 'controller', { '#1': 'BUTTON', '#2': 'GND' }, at(86.2, 6), { value: 'TEST' });
  ends.r(PULL_OHM, '3V3', 'BUTTON', 80.2, 4.6);
  ends.c(100e-9, 'BUTTON', 'GND', 80.2, 2.8);
  for (const [light, colour, ref, down] of [['LIGHT_GREEN', 'green', 'D1', 0], ['LIGHT_RED', 'red', 'D2', 2.4]] as const) {
    netlist.add(ref, bought.LED, 'controller', { K: 'GND', A: `${light}_LED` }, at(87.4, 12 + down, 180), { value: colour });
    ends.r(680, light, `${light}_LED`, 83.6, 12 + down, 'right');
  }
  netlist.add('J7', bought.WAND_PLUG, 'controller', { '#1': 'WAND_3V3', '#2': 'WAND_SIGNAL', '#3': 'GND', '#4': 'WAND_PRESENT' }, at(91.5, 19, 90), { value: 'wand' });
  ends.r(PULL_OHM, '3V3', 'WAND_PRESENT', 86.5, 17.0);
  ends.r(47, '3V3', 'WAND_3V3', 86.5, 18.7);
  ends.c(1e-6, 'WAND_3V3', 'GND', 86.5, 20.4);

  const points: readonly [string, number, number][] = [
    ['3V3', 98, 64], ['5V', 78.4, 75.4], ['V_PLUS', 30.5, 74.2], ['V_MINUS', 30.5, 77.6], ['CLAMP_HIGH', 26.4, 74.2], ['CLAMP_LOW', 26.4, 77.6], ['GND', 57, 76.4],
    ['REFOUT', 83.2, 18.6], ['MID', 73.2, 70.6], ['PLUS_1V8', 67.3, 35.6], ['MINUS_1V8', 67.3, 32.6], ['3V0', 80.6, 57.6], ['1V1', 97.6, 40], ['UART_TX', 97.6, 24.2],
  ];
  points.forEach(([net, px, py], k) => netlist.add(`TP${k + 1}`, bought.TEST_POINT, 'controller', { '#1': net }, at(px, py), { value: net }));
  [[4, 4], [96, 4], [4, 76], [96, 76]].forEach(([px, py], k) => netlist.add(`H${k + 1}`, bought.HOLE, 'controller', {}, at(px, py), { value: 'M3' }));
}

/**
 * What the firmware and the logic must know of the board: pins of the RP2040, inputs of the converter, the switch word.
 * `firmware/drivers/pins.h` and the twin's wiring are compared with these tables by test.
 */

/** How a net must stand while the RP2040 is in reset and its pads hold only their own weak pulls down. */
export type AtReset = 'low' | 'high' | 'any';

export interface GpioRow {
  /** `PIN_` less its prefix, and the name of the net. */
  readonly name: string;
  readonly gpio: number;
  readonly direction: 'in' | 'out' | 'analog';
  readonly atReset: AtReset;
  readonly does: string;
}

export const GPIO: readonly GpioRow[] = [
  { name: 'UART_TX', gpio: 0, direction: 'out', atReset: 'any', does: 'debug text' },
  { name: 'WAND_PRESENT', gpio: 1, direction: 'in', atReset: 'any', does: 'low when the magnet wand is plugged in' },
  { name: 'BUTTON', gpio: 2, direction: 'in', atReset: 'any', does: 'low while pressed' },
  { name: 'LIGHT_GREEN', gpio: 3, direction: 'out', atReset: 'low', does: 'high = on' },
  { name: 'RAILS_GOOD', gpio: 4, direction: 'in', atReset: 'any', does: 'low when both analog rails are good: open drain of the charge pump, pulled up' },
  { name: 'RAILS_ENABLE', gpio: 5, direction: 'out', atReset: 'low', does: 'high = analog rails on' },
  { name: 'LIGHT_RED', gpio: 7, direction: 'out', atReset: 'low', does: 'high = on' },
  { name: 'SWITCH_OE', gpio: 8, direction: 'out', atReset: 'high', does: 'low = switch registers drive' },
  { name: 'SWITCH_LATCH', gpio: 9, direction: 'out', atReset: 'low', does: 'rising edge takes the shifted word' },
  { name: 'SWITCH_SCK', gpio: 10, direction: 'out', atReset: 'low', does: 'SPI1 SCK' },
  { name: 'SWITCH_MOSI', gpio: 11, direction: 'out', atReset: 'low', does: 'SPI1 TX' },
  { name: 'SWITCH_READBACK', gpio: 12, direction: 'in', atReset: 'any', does: "SPI1 RX: the last register's serial output" },
  { name: 'CONVERTER_MISO', gpio: 16, direction: 'in', atReset: 'any', does: 'SPI0 RX' },
  { name: 'CONVERTER_CS', gpio: 17, direction: 'out', atReset: 'high', does: 'low = selected' },
  { name: 'CONVERTER_SCK', gpio: 18, direction: 'out', atReset: 'low', does: 'SPI0 SCK' },
  { name: 'CONVERTER_MOSI', gpio: 19, direction: 'out', atReset: 'low', does: 'SPI0 TX' },
  { name: 'CONVERTER_DRDY', gpio: 20, direction: 'in', atReset: 'any', does: 'low = a result waits' },
  { name: 'CONVERTER_START', gpio: 21, direction: 'out', atReset: 'low', does: 'rising edge starts a conversion' },
  { name: 'CONVERTER_RESET', gpio: 22, direction: 'out', atReset: 'low', does: 'low = reset: current source off' },
  { name: 'LISTEN_A_X1', gpio: 26, direction: 'analog', atReset: 'any', does: 'ADC 0' },
  { name: 'LISTEN_B_X1', gpio: 27, direction: 'analog', atReset: 'any', does: 'ADC 1' },
  { name: 'LISTEN_A_X8', gpio: 28, direction: 'analog', atReset: 'any', does: 'ADC 2' },
  { name: 'LISTEN_B_X8', gpio: 29, direction: 'analog', atReset: 'any', does: 'ADC 3' },
];

/** GPIO that nothing is wired to. */
export const GPIO_FREE = [6, 13, 14, 15, 23, 24, 25] as const;

/** `AIN_` less its prefix, the converter's input, and the net on it. */
export const CONVERTER_INPUTS: readonly { readonly name: string; readonly ain: number; readonly net: string }[] = [
  { name: 'CURRENT_OUT', ain: 0, net: 'SOURCE' },
  { name: 'PORT_PLUS', ain: 1, net: 'PORT_PLUS' },
  { name: 'PORT_MINUS', ain: 2, net: 'PORT_MINUS' },
  { name: 'WAND', ain: 3, net: 'WAND' },
  { name: 'THERMISTOR', ain: 4, net: 'TEMPERATURE' },
  { name: 'RAIL_POSITIVE', ain: 5, net: 'RAIL_POSITIVE_HALF' },
  { name: 'RAIL_NEGATIVE', ain: 6, net: 'RAIL_NEGATIVE_HALF' },
  { name: 'WAND_HALF', ain: 7, net: 'WAND_HALF' },
  { name: 'COMMON', ain: 12, net: 'GND' },
];

/** The eight switches in the order of the word, lowest nibble first: EN A2 A1 A0 each, throw = address + 1. */
export const SWITCHES = ['A_PLUS', 'A_MINUS', 'B_PLUS', 'B_MINUS', 'G1', 'G2', 'DRIVE', 'RETURN'] as const;
export type SwitchName = (typeof SWITCHES)[number];
export const CLIPS = [1, 2, 3, 4, 5, 6] as const;

const forced = CLIPS.map((clip) => `F${clip}`);
const sensed = CLIPS.map((clip) => `S${clip}`);
/** Net of each throw, 1 to 8, and of the common; null where nothing is wired. */
export const THROWS: Readonly<Record<SwitchName, readonly (string | null)[]>> = {
  A_PLUS: [...forced, null, null],
  A_MINUS: [...forced, null, null],
  B_PLUS: [...sensed, 'REFERENCE', 'A_MINUS'],
  B_MINUS: [...sensed, 'REFERENCE_FOOT', 'GND'],
  G1: [...forced, null, null],
  G2: [...forced, null, null],
  DRIVE: ['SOURCE', 'DRIVE_UP', 'DRIVE_DOWN', 'GND', null, null, null, null],
  RETURN: ['REFERENCE', 'LEAK_SENSE', 'GND', 'BLEED', null, null, null, null],
};
/** Net of each common: drive and return share those of port A. */
export const COMMONS: Readonly<Record<SwitchName, string>> = {
  A_PLUS: 'A_PLUS', A_MINUS: 'A_MINUS', B_PLUS: 'B_PLUS', B_MINUS: 'B_MINUS', G1: 'G1', G2: 'G2', DRIVE: 'A_PLUS', RETURN: 'A_MINUS',
};

/** Bit of the switch word and the register output it is on: bit 0 is QA of the first register, which is shifted in last.
 * @param bit - 0 to 31
 */
export function registerOutput(bit: number): { register: number; output: string; line: string } {
  const line = `${SWITCHES[bit >> 2]}_${['A0', 'A1', 'A2', 'EN'][bit & 3]}`;
  return { register: (bit >> 3) + 1, output: `Q${'ABCDEFGH'[bit & 7]}`, line };
}

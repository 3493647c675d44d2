/**
 * The bought parts. Pin tables of the chips are compared with KiCad's own symbols by test; where KiCad has none the sheet is named.
 * Example and alternate are what was looked at; "from memory" in `pinSource` means: read the maker's sheet before ordering.
 */
import { pins, type Bought } from './model.ts';

const two = pins('1 1 p, 2 2 p');
const plain = { pinSource: 'two ends alike', pins: two } as const;

export const R0603: Bought = {
  ...plain, family: 'resistor', description: 'thick-film resistor 1 % 100 ppm/K 0.1 W 0603', example: 'RC0603FR-07', alternate: 'CRCW0603-F',
  footprint: 'Resistor_SMD:R_0603_1608Metric',
};
export const R0603_FINE: Bought = {
  ...R0603, description: 'thin-film resistor 0.1 % 25 ppm/K 0.1 W 0603', example: 'RT0603BRD07', alternate: 'ERA-3AEB',
};
export const R0805_REFERENCE: Bought = {
  ...plain, family: 'resistor', description: 'thin-film resistor 0.05 % 10 ppm/K 0.1 W 0805: scale of every resistance', example: 'RT0805WRB07',
  alternate: 'ERA-6ARW', footprint: 'Resistor_SMD:R_0805_2012Metric',
};
export const R1206_PULSE: Bought = {
  ...plain, family: 'resistor', description: 'pulse-proof thick-film resistor 1 % 200 ppm/K 0.5 W 200 V 1206: takes the fault', example: 'CRCW1206-HP',
  alternate: 'SR1206', footprint: 'Resistor_SMD:R_1206_3216Metric',
};
export const R_ARRAY: Bought = {
  family: 'resistor', description: 'array of 4 resistors 5 % 0603 convex', example: 'YC164-JR-07', alternate: 'CAY16-J4',
  footprint: 'Resistor_SMD:R_Array_Convex_4x0603', pinSource: 'Device:R_Pack04', symbol: ['Device', 'R_Pack04'],
  pins: pins('1 R1.1 p, 2 R2.1 p, 3 R3.1 p, 4 R4.1 p, 5 R4.2 p, 6 R3.2 p, 7 R2.2 p, 8 R1.2 p'),
};
export const C0402: Bought = {
  ...plain, family: 'capacitor', description: 'ceramic capacitor X7R 10 % 16 V 0402', example: 'GRM155R71C', alternate: 'CL05B',
  footprint: 'Capacitor_SMD:C_0402_1005Metric',
};
export const C0603: Bought = {
  ...plain, family: 'capacitor', description: 'ceramic capacitor X7R 10 % 16 V 0603', example: 'GRM188R71C', alternate: 'CL10B',
  footprint: 'Capacitor_SMD:C_0603_1608Metric',
};
export const C0603_C0G: Bought = {
  ...plain, family: 'capacitor', description: 'ceramic capacitor C0G 5 % 50 V 0603: settles to 1e-5', example: 'GRM1885C1H', alternate: 'CL10C',
  footprint: 'Capacitor_SMD:C_0603_1608Metric',
};
export const C0805: Bought = {
  ...plain, family: 'capacitor', description: 'ceramic capacitor X7R 10 % 10 V 0805', example: 'GRM21BR71A', alternate: 'CL21B',
  footprint: 'Capacitor_SMD:C_0805_2012Metric',
};
export const BEAD: Bought = {
  ...plain, family: 'bead', description: 'ferrite bead 600 ohm at 100 MHz 0.5 A 0805', example: 'BLM21PG601', alternate: 'MPZ2012S601A',
  footprint: 'Inductor_SMD:L_0805_2012Metric',
};
export const FUSE: Bought = {
  ...plain, family: 'fuse', description: 'resettable fuse holds 0.5 A trips 1 A 13 V 1206', example: '1206L050', alternate: 'MF-NSMF050',
  footprint: 'Fuse:Fuse_1206_3216Metric',
};
export const LED: Bought = {
  family: 'led', description: 'light-emitting diode 0805, green or red, 2 mA', example: 'LED 0805', alternate: 'any of the size', pins: pins('1 K p, 2 A p'),
  footprint: 'LED_SMD:LED_0805_2012Metric', pinSource: 'Device:LED', symbol: ['Device', 'LED'],
};
/** KiCad's BAV99 symbol draws 1 as K and 2 as A, the other way round: the sheets have 1 anode, 2 cathode, 3 both. */
export const CLAMP: Bought = {
  family: 'diodes', description: 'double diode in series, 3 pA at 25 C, 5 nA at most at 75 V, 2 pF, SOT-23', example: 'BAV199', alternate: 'BAV199LT1G',
  footprint: 'Package_TO_SOT_SMD:SOT-23', pins: pins('1 A p, 2 K p, 3 KA p'),
  pinSource: "sheets of two makers, BAV199W of 1999 May 11 and (S)BAV199L: 1 anode, 2 cathode, 3 cathode and anode",
};
export const GAP: Bought = {
  ...plain, family: 'gap', description: 'spark gap 0.25 mm in copper, mask open', example: 'drawn', alternate: '', footprint: 'tapstone:SparkGap_0.25mm', notBought: true,
};
export const TERMINAL: Bought = {
  family: 'connector', description: 'screw terminal 2 ways 3.5 mm', example: 'PT 1.5/2-3.5-H', alternate: 'KF350-2P', pins: two,
  footprint: 'TerminalBlock_Phoenix:TerminalBlock_Phoenix_PT-1,5-2-3.5-H_1x02_P3.50mm_Horizontal', pinSource: 'counted from the marked end',
};
export const WAND_PLUG: Bought = {
  family: 'connector', description: 'wire-to-board header 4 ways 2 mm, right angle', example: 'S4B-PH-K', alternate: 'PH-4 side entry',
  pins: pins('1 1 p, 2 2 p, 3 3 p, 4 4 p'), footprint: 'Connector_JST:JST_PH_S4B-PH-K_1x04_P2.00mm_Horizontal', pinSource: 'counted from the marked end',
};
export const HEADER3: Bought = {
  family: 'connector', description: 'pin header 1 x 3 2.54 mm', example: '1x03', alternate: 'any', pins: pins('1 1 p, 2 2 p, 3 3 p'),
  footprint: 'Connector_PinHeader_2.54mm:PinHeader_1x03_P2.54mm_Vertical', pinSource: 'counted from the square pad',
};
export const RECEPTACLE: Bought = {
  family: 'connector', description: 'USB Type-C receptacle, 16 contacts, USB 2.0, shell through the board', example: 'USB4105-GF-A', alternate: 'TYPE-C-31-M-12 (other land pattern)',
  footprint: 'Connector_USB:USB_C_Receptacle_GCT_USB4105-xx-A_16P_TopMnt_Horizontal', pinSource: 'Connector:USB_C_Receptacle_USB2.0_16P',
  symbol: ['Connector', 'USB_C_Receptacle_USB2.0_16P'],
  pins: pins('A1 GND p, A12 GND p, B1 GND p, B12 GND p, A4 VBUS p, A9 VBUS p, B4 VBUS p, B9 VBUS p, A5 CC1 b, B5 CC2 b, A6 D+ b, B6 D+ b, A7 D- b, B7 D- b, A8 SBU1 b, B8 SBU2 b, S1 SHIELD p'),
};
export const BUTTON: Bought = {
  family: 'button', description: 'push button 5.1 x 5.1 mm', example: 'TS-1187A', alternate: 'any with this land pattern', pins: two,
  footprint: 'Button_Switch_SMD:SW_Push_1P1T_XKB_TS-1187A', pinSource: 'Switch:SW_Push', symbol: ['Switch', 'SW_Push'],
};
export const TEST_POINT: Bought = {
  family: 'test point', description: 'test point 1 mm', example: 'copper', alternate: '', pins: pins('1 1 p'), footprint: 'TestPoint:TestPoint_Pad_D1.0mm',
  pinSource: 'one pad', notBought: true,
};
export const HOLE: Bought = {
  family: 'hole', description: 'mounting hole M3, no copper', example: 'drilled', alternate: '', pins: [], footprint: 'MountingHole:MountingHole_3.2mm_M3',
  pinSource: 'no pad', notBought: true,
};
export const CRYSTAL: Bought = {
  ...plain, family: 'crystal', description: 'crystal 12 MHz 30 ppm, load 18 pF, 50 ohm at most, HC-49/US SMD (leads: made for an iron)', example: 'ABLS-12.000MHZ-B2-T', alternate: 'any HC-49/US SMD',
  footprint: 'Crystal:Crystal_SMD_HC49-SD', symbol: ['Device', 'Crystal'],
};

export const SWITCH8: Bought = {
  family: 'chip', description: 'analog switch 8:1, +-2.5 V, pA leakage, 1.8 V logic, break before make, TSSOP-16', example: 'TMUX1108PW', alternate: 'none with these pins at +-2.5 V; MUX508 needs +-5 V',
  footprint: 'Package_SO:TSSOP-16_4.4x5mm_P0.65mm', pinSource: 'Analog_Switch:TMUX1108PW', symbol: ['Analog_Switch', 'TMUX1108PW'],
  pins: pins('1 A0 i, 2 EN i, 3 VSS w, 4 S1 p, 5 S2 p, 6 S3 p, 7 S4 p, 8 D p, 9 S8 p, 10 S7 p, 11 S6 p, 12 S5 p, 13 VDD w, 14 GND w, 15 A2 i, 16 A1 i'),
};
export const REGISTER: Bought = {
  family: 'chip', description: 'shift register 8 bits with latch and output enable, HC, SO-16', example: '74HC595D', alternate: 'SN74HC595D',
  footprint: 'Package_SO:SOIC-16_3.9x9.9mm_P1.27mm', pinSource: '74xx:74HC595', symbol: ['74xx', '74HC595'],
  pins: pins("1 QB t, 2 QC t, 3 QD t, 4 QE t, 5 QF t, 6 QG t, 7 QH t, 8 GND w, 9 QH' o, 10 SRCLR i, 11 SRCLK i, 12 RCLK i, 13 OE i, 14 SER i, 15 QA t, 16 VCC w"),
};
export const DUAL_BUFFER: Bought = {
  family: 'chip', description: 'dual op-amp, rail to rail in and out, bias 10 pA at most, 10 MHz, 2.2-5.5 V, SO-8', example: 'OPA2325ID', alternate: 'OPA2376AID (5.5 MHz)',
  footprint: 'Package_SO:SOIC-8_3.9x4.9mm_P1.27mm', pinSource: 'Amplifier_Operational:OPA2325', symbol: ['Amplifier_Operational', 'OPA2325'],
  pins: pins('1 OUTA o, 2 -A i, 3 +A i, 4 V- w, 5 +B i, 6 -B i, 7 OUTB o, 8 V+ w'),
};
export const QUAD: Bought = {
  family: 'chip', description: 'quad op-amp, rail to rail, offset 25 uV at most, 5.5 MHz, TSSOP-14', example: 'OPA4376AIPW', alternate: 'TLV9064IPW (offset 1.6 mV)',
  footprint: 'Package_SO:TSSOP-14_4.4x5mm_P0.65mm', pinSource: 'Amplifier_Operational:OPA4376', symbol: ['Amplifier_Operational', 'OPA4376'],
  pins: pins('1 OUTA o, 2 -A i, 3 +A i, 4 V+ w, 5 +B i, 6 -B i, 7 OUTB o, 8 OUTC o, 9 -C i, 10 +C i, 11 V- w, 12 +D i, 13 -D i, 14 OUTD o'),
};
export const SINGLE: Bought = {
  family: 'chip', description: 'op-amp, rail to rail, offset 25 uV at most, 5.5 MHz, SOT-23-5', example: 'OPA376AIDBV', alternate: 'TLV9061IDBV',
  footprint: 'Package_TO_SOT_SMD:SOT-23-5', pinSource: 'Amplifier_Operational:OPA376xxDBV', symbol: ['Amplifier_Operational', 'OPA376xxDBV'],
  pins: pins('1 OUT o, 2 V- w, 3 + i, 4 - i, 5 V+ w'),
};
/** REFCOM belongs on AVSS, so REFOUT is 2.5 V above -2.5 V: near 0 V, and no source for anything that stands on ground. */
export const CONVERTER: Bought = {
  family: 'chip', description: '24-bit delta-sigma converter, current source 10 to 250 uA, 12 inputs, +-2.5 V, TQFP-32', example: 'ADS124S08IPBS', alternate: 'none: the firmware takes this part only',
  footprint: 'Package_QFP:TQFP-32_5x5mm_P0.5mm', pinSource: 'data sheet SBAS660C, pin functions',
  pins: pins('1 AINCOM p, 2 AIN5 p, 3 AIN4 p, 4 AIN3 p, 5 AIN2 p, 6 AIN1 p, 7 AIN0 p, 8 START i, 9 CS i, 10 DIN i, 11 SCLK i, 12 DOUT t, 13 DRDY o, 14 DGND w, 15 IOVDD w, 16 DVDD w, ' +
    '17 CLK i, 18 RESET i, 19 AIN11 p, 20 AIN10 p, 21 AIN9 p, 22 AIN8 p, 23 REFOUT p, 24 REFCOM p, 25 NC n, 26 AVDD w, 27 AVSS w, 28 AVSS-SW p, 29 REFN0 p, 30 REFP0 p, 31 AIN7 p, 32 AIN6 p'),
};
export const RAILS: Bought = {
  family: 'chip', description: 'charge pump with two regulators, +-1.5 to 5 V, 250 mA, power-good low when good, WSON-12 (no leaded part makes both rails)', example: 'LM27762DSS', alternate: 'none with these pins',
  footprint: 'Package_SON:WSON-12-1EP_3x2mm_P0.5mm_EP1x2.65', pinSource: 'Regulator_SwitchedCapacitor:LM27762', symbol: ['Regulator_SwitchedCapacitor', 'LM27762'],
  pins: pins('1 PGOOD c, 2 FB+ i, 3 VIN w, 4 GND w, 5 CP p, 6 OUT- W, 7 FB- i, 8 EN- i, 9 C- p, 10 C+ p, 11 OUT+ W, 12 EN+ i, 13 PAD p'),
};
export const SHUNT: Bought = {
  family: 'chip', description: 'shunt regulator 1.24 V 0.5 %, 0.1 to 70 mA, SOT-23: 1 reference, 2 cathode, 3 anode', example: 'TLVH431BIDBZ', alternate: 'TLVH431AIDBZ (1 %); not TLVH432, whose pins differ',
  footprint: 'Package_TO_SOT_SMD:SOT-23', pins: pins('1 REF p, 2 K p, 3 A p'), pinSource: 'from memory, and the same in a published board; the DBZ package of TLVH431 differs from that of TL431: read SLVS555',
};
export const REFERENCE3: Bought = {
  family: 'chip', description: 'shunt reference 3.0 V 0.1 %, 0.06 to 15 mA, SOT-23', example: 'LM4040AIM3-3.0', alternate: 'LM4040A30IDBZ',
  footprint: 'Package_TO_SOT_SMD:SOT-23', pins: pins('1 K p, 2 A p, 3 NC n'), pinSource: 'Reference_Voltage:LM4040DBZ-3', symbol: ['Reference_Voltage', 'LM4040DBZ-3'],
};
export const LDO: Bought = {
  family: 'chip', description: 'regulator 3.3 V 600 mA, SOT-23-5', example: 'AP2112K-3.3', alternate: 'TLV75733PDBV',
  footprint: 'Package_TO_SOT_SMD:SOT-23-5', pinSource: 'Regulator_Linear:AP2112K-3.3', symbol: ['Regulator_Linear', 'AP2112K-3.3'],
  pins: pins('1 VIN w, 2 GND w, 3 EN i, 4 NC n, 5 VOUT W'),
};
export const ESD: Bought = {
  family: 'chip', description: 'USB line protection, 2 lines, SOT-23-6', example: 'USBLC6-2SC6', alternate: 'any with these pins',
  footprint: 'Package_TO_SOT_SMD:SOT-23-6', pinSource: 'Power_Protection:USBLC6-2SC6', symbol: ['Power_Protection', 'USBLC6-2SC6'],
  pins: pins('1 I/O1 p, 2 GND p, 3 I/O2 p, 4 I/O2 p, 5 VBUS p, 6 I/O1 p'),
};
export const THERMOMETER: Bought = {
  family: 'chip', description: 'temperature sensor 0.75 V at 25 C, 10 mV/K, 2 K, SOT-23', example: 'MCP9700A-E/TT', alternate: 'TMP235A2DBZ',
  footprint: 'Package_TO_SOT_SMD:SOT-23', pinSource: 'Sensor_Temperature:MCP9700x-ETT', symbol: ['Sensor_Temperature', 'MCP9700x-ETT'],
  pins: pins('1 VDD w, 2 VOUT o, 3 GND w'),
};
export const FLASH: Bought = {
  family: 'chip', description: 'serial flash 2 MB, QSPI, 3.3 V, SO-8 208 mil', example: 'W25Q16JVSS', alternate: 'W25Q32JVSS',
  footprint: 'Package_SO:SOIC-8_5.3x5.3mm_P1.27mm', pinSource: 'Memory_Flash:W25Q16JVSS', symbol: ['Memory_Flash', 'W25Q16JVSS'],
  pins: pins('1 CS i, 2 IO1 b, 3 IO2 b, 4 GND w, 5 IO0 b, 6 CLK i, 7 IO3 b, 8 VCC w'),
};
const gpioPins = [
  2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14, 15, 16, 17, 18, 27, 28, 29, 30, 31, 32, 34, 35, 36, 37, 38, 39, 40, 41,
].map((number, gpio) => `${number} GPIO${gpio} b`).join(', ');
export const CONTROLLER: Bought = {
  family: 'chip', description: 'microcontroller RP2040, QFN-56 (there is no leaded one)', example: 'RP2040', alternate: 'none',
  footprint: 'Package_DFN_QFN:QFN-56-1EP_7x7mm_P0.4mm_EP3.2x3.2mm', pinSource: 'MCU_RaspberryPi:RP2040', symbol: ['MCU_RaspberryPi', 'RP2040'],
  pins: pins(`${gpioPins}, 1 IOVDD w, 10 IOVDD w, 22 IOVDD w, 33 IOVDD w, 42 IOVDD w, 49 IOVDD w, 19 TESTEN i, 20 XIN i, 21 XOUT o, 23 DVDD w, 50 DVDD w, ` +
    '24 SWCLK i, 25 SWDIO b, 26 RUN i, 43 ADC_AVDD w, 44 VREG_VIN w, 45 VREG_VOUT W, 46 USB_DM b, 47 USB_DP b, 48 USB_VDD w, ' +
    '51 QSPI_SD3 b, 52 QSPI_SCLK o, 53 QSPI_SD0 b, 54 QSPI_SD2 b, 55 QSPI_SD1 b, 56 QSPI_SS b, 57 GND w'),
};

/**
 * The questions that are put to ngspice. Each deck prints figures; each figure has limits, which the test holds it to
 * and of which `margins()` tells how much is left. Words of the switches are those of the logic (shared-logic, matrix.ts).
 */
import type { Netlist } from '../netlist/model.ts';
import { currentSource, frontEnd, node, setWord, SUPPLIED, TYPICAL, WORST } from './elements.ts';

/** A figure and where it may lie. */
export interface Figure {
  readonly name: string;
  readonly what: string;
  readonly low: number;
  readonly high: number;
}

export interface Deck {
  readonly name: string;
  readonly question: string;
  readonly text: string;
  readonly figures: readonly Figure[];
}

const near = (name: string, what: string, value: number, within: number): Figure => ({ name, what,
  low: value - within, high: value + within });
const below = (name: string, what: string, high: number): Figure => ({ name, what, low: Number.NEGATIVE_INFINITY, high });
const size = (name: string, what: string, high: number): Figure => ({ name, what, low: -high, high });
const above = (name: string, what: string, low: number): Figure => ({ name, what, low, high: Number.POSITIVE_INFINITY });

const nibble = (index: number, address: number): number => ((8 + address) << (4 * index)) >>> 0;
/** Words by switch and throw (1 to 8). */
const word = (throws: Readonly<Record<number, number>>): number =>
  Object.entries(throws).reduce((sum, [index, one]) => (sum | nibble(Number(index), one - 1)) >>> 0, 0);
const [A, AM, B, BM, G1, G2, DRV, RET] = [0, 1, 2, 3, 4, 5, 6, 7];

function deck(name: string, question: string, body: readonly string[], commands: readonly string[],
  figures: readonly Figure[], options = ''): Deck {
  const text = [`* ${name}: ${question}`, '* made from the netlist by hardware-notes/board/make.ts', ...body,
    `.options gmin=1e-16 abstol=1e-16 ${options}`, '.control', 'set numdgt=9', ...commands, 'quit 0', '.endc', '.end', ''].join('\n');
  return { name, question, text, figures };
}

/** All decks. */
export function decks(netlist: Netlist): Deck[] {
  return [fourWire(netlist), leak(netlist), ...settling(netlist), cutOff(netlist), touch(netlist), step(netlist),
    hum(netlist), ...faults(netlist), rails(netlist)];
}

/** Ohms, amperes of the range, and how far the reading may be off: its share of the error budget without the reference's tolerance. */
const READINGS = [[100, 250e-6, 0.01], [8e3, 100e-6, 0.2], [100e3, 10e-6, 25]] as const;

function fourWire(netlist: Netlist): Deck {
  const commands: string[] = [];
  const figures: Figure[] = [];
  let plots = 0;
  for (const [ohm, amperes, within] of READINGS) {
    commands.push(`alter rcoil = ${ohm}`, `alter vset dc = ${amperes}`);
    const [zero, forward, back, reference] = [
      { [A]: 1, [AM]: 1, [B]: 7, [BM]: 7, [RET]: 1 }, { [A]: 1, [AM]: 2, [B]: 1, [BM]: 2, [DRV]: 1, [RET]: 1 },
      { [A]: 2, [AM]: 1, [B]: 1, [BM]: 2, [DRV]: 1, [RET]: 1 }, { [A]: 1, [AM]: 2, [B]: 7, [BM]: 7, [DRV]: 1, [RET]: 1 },
    ].map((throws) => {
      commands.push(...setWord(word(throws)), 'op', 'let read = v(port_plus)-v(port_minus)');
      return `op${++plots}.read`;
    });
    const name = `ohm_${ohm}`;
    // As the logic does it: the zero without a drive is taken off the reference, the coil is read both ways.
    commands.push(`let ${name} = 2000*(${forward}-${back})/2/(${reference}-${zero})`, `print ${name}`);
    figures.push(near(name, `${ohm} ohm at ${amperes * 1e6} uA, both ways, worst leakage and offsets, ohms`, ohm, within));
  }
  // Room of the current source at 250 uA, everything at its worst.
  commands.push('alter vplus dc = 2.50', 'alter rcoil = 3589', 'alter vset dc = 257.5u', ...setWord(word({ [A]: 1, [AM]: 2, [B]: 1, [BM]: 2, [DRV]: 1, [RET]: 1 })), 'op',
    'let room_250uA = v(v_plus)-0.4-v(source)', 'print room_250uA');
  figures.push(above('room_250uA', 'volts left of the source at 250 uA + 3 % (its sheet) into 3589 ohm, where the logic leaves that range, rail at its lowest', 0));
  return deck('four-wire', 'what a resistance reads, four-wire, with the worst leakage, offsets and input currents',
    [frontEnd(netlist, WORST), SUPPLIED, 'Vset set 0 0', currentSource('V(set)'), 'Rcoil CLIP1 CLIP2 100'], commands, figures);
}

function leak(netlist: Netlist): Deck {
  const commands: string[] = [];
  const figures: Figure[] = [];
  let plots = 0;
  for (const [ohm, share] of [[10e6, 0.01], [100e6, 0.04]] as const) {
    commands.push(`alter rleak = ${ohm}`);
    const [up, down] = [2, 3].map((drive) => {
      commands.push(...setWord(word({ [A]: 1, [AM]: 2, [B]: 8, [BM]: 8, [DRV]: drive, [RET]: 2 })), 'op', 'let read = v(port_plus)-v(port_minus)');
      return `op${++plots}.read`;
    });
    const name = `leak_${ohm / 1e6}M`;
    commands.push(`let ${name} = 1e6*(3.6/(${up}-${down})-1)`, `print ${name}`);
    figures.push(near(name, `a leak of ${ohm / 1e6} megohm by both signs, worst leakage, ohms`, ohm, ohm * share));
  }
  return deck('leak', 'what a leak between two clips reads with the worst leakage of all parts',
    [frontEnd(netlist, WORST), SUPPLIED, currentSource('0'), 'Rleak CLIP1 CLIP2 10meg', 'Rdirt1 CLIP1 0 20g', 'Rdirt2 CLIP2 0 20g'], commands, figures);
}

/** Coils of physics.md 1, without eddy loss: the slowest. Ohms, henries, farads and the range's amperes. */
const COILS = [[4100, 2.3, 90e-12, 100e-6], [8e3, 4, 100e-12, 100e-6], [8e3, 10, 250e-12, 100e-6], [2500, 10,
  250e-12, 250e-6], [25e3, 10, 200e-12, 50e-6]] as const;

function settling(netlist: Netlist): Deck[] {
  return COILS.map(([ohm, henry, farad, amperes], i) => {
    const clips = [1, 2];
    // At rest with the drive one way round; off at 0.1 ms; turned round at 5.1 ms; on again at 5.2 ms; read from 15.2 ms on.
    const turn = (name: string, a: string, b: string, forward: boolean): string =>
      `S${name} ${a} ${b} ${forward ? 'fwd' : 'rev'} 0 turn`;
    return deck(`settling-${i + 1}`, `a reversal of ${Math.round(amperes * 1e6)} uA in ${ohm} ohm, ${henry} H, ${Math.round(farad * 1e12)} pF without eddy loss: how much is left after 10 ms`, [
      frontEnd(netlist, TYPICAL, clips), SUPPLIED, `Vset set 0 PWL(0 ${amperes} 100u ${amperes} 101u 0 5.2m 0 5.201m ${amperes})`, currentSource('V(set)'),
      '.model turn SW(VT=0.5 VH=0.1 RON=2.5 ROFF=1e12)', 'Vfwd fwd 0 PWL(0 1 5.1m 1 5.1001m 0)', 'Vrev rev 0 PWL(0 0 5.1005m 0 5.1006m 1)',
      turn('f1', 'F1', 'A_PLUS', true), turn('f2', 'F2', 'A_MINUS', true), turn('r1', 'F2', 'A_PLUS', false), turn('r2', 'F1', 'A_MINUS', false),
      `Rc CLIP1 m ${ohm}`, `Lc m CLIP2 ${henry}`, `Cc CLIP1 CLIP2 ${farad}`, 'Clead1 CLIP1 0 100p', 'Clead2 CLIP2 0 100p',
    ], [
      ...setWord(word({ [B]: 1, [BM]: 2, [DRV]: 1, [RET]: 1 }), clips), 'tran 5u 60m 0 20u', 'let read = v(port_plus)-v(port_minus)', 'meas tran early find read at=15.2m',
      'meas tran late find read at=59m', 'let left_ppm = 1e6*(early-late)/late', 'print left_ppm',
    ], [size('left_ppm', 'what is left 10 ms after the drive is on again, ppm', 10)], 'reltol=1e-6 method=gear');
  });
}

function cutOff(netlist: Netlist): Deck {
  const clips = [1, 2];
  return deck('cut-off', '250 uA in 2.5 kilohm, 4 H, 100 pF is cut by the drive switch without warning: what the clips and the switches see', [
    frontEnd(netlist, TYPICAL, clips), SUPPLIED, currentSource('250u'), '.model cut SW(VT=0.5 VH=0.1 RON=2.5 ROFF=1e12)', 'Vcut cut 0 PWL(0 1 1m 1 1.00001m 0)',
    'Sdrv SOURCE A_PLUS cut 0 cut', 'Rc CLIP1 m 2500', 'Lc m CLIP2 4', 'Cc CLIP1 CLIP2 100p', 'Clead CLIP1 0 100p',
  ], [
    ...setWord(word({ [A]: 1, [AM]: 2, [B]: 1, [BM]: 2, [RET]: 1 }), clips), 'tran 1u 3m 0 2u', 'meas tran clip_least min v(clip1)', 'meas tran throw_least min v(f1)',
    'meas tran throw_most max v(f1)', 'meas tran common_least min v(a_plus)', 'meas tran sense_least min v(s1)',
  ], [
    { name: 'clip_least', what: 'volts at the clip', low: -4, high: 0 }, { name: 'throw_least', what: 'volts at the forcing switches; -3.0 V is their limit', low: -3, high: 0 },
    { name: 'common_least', what: 'volts at the common; -3.0 V is the limit', low: -3, high: 0 }, { name: 'sense_least', what: 'volts at the sensing switches', low: -3, high: 0 },
    { name: 'throw_most', what: 'volts at the forcing switches, upwards', low: 0, high: 3 },
  ]);
}

const TOUCH = word({ [A]: 1, [AM]: 2, [B]: 3, [BM]: 4, [G1]: 4, [G2]: 5, [RET]: 3 });

function touch(netlist: Netlist): Deck {
  return deck('touch', 'the listening chain from a coil of 4.1 kilohm, 2.3 H, 250 kilohm, 90 pF to the ADC pins: gain, loading, bandwidth, both ends moving together', [
    frontEnd(netlist, TYPICAL), SUPPLIED, currentSource('0'), 'Vemf e CLIP2 DC 0 AC 1', 'Rc e m 4100', 'Lc m CLIP1 2.3', 'Re m CLIP1 250k', 'Cc CLIP1 CLIP2 90p', 'Clead CLIP1 0 100p',
    'Vemf2 e2 CLIP4 DC 0 AC 0', 'Rc2 e2 m2 4100', 'Lc2 m2 CLIP3 2.3', 'Re2 m2 CLIP3 250k', 'Cc2 CLIP3 CLIP4 90p', 'Clead2 CLIP3 0 100p',
  ], [
    ...setWord(TOUCH), 'ac dec 40 1 1meg', 'meas ac gain_x1 find vm(listen_a_x1) at=20', 'meas ac gain_x8 find vm(listen_a_x8) at=20', 'meas ac port find vm(a_plus) at=20',
    'meas ac neighbour find vm(listen_b_x1) at=20', 'let loading_ppm = 1e6*(1-port)', 'print loading_ppm',
    // The chain alone: from the port to the pins.
    'let chain = vm(listen_a_x1)/vm(a_plus)', 'let chain8 = vm(listen_a_x8)/vm(a_plus)', 'meas ac x1_1kHz find chain at=1000', 'meas ac x8_1kHz find chain8 at=1000',
    'let fall_x1 = chain-0.7079', 'let fall_x8 = chain8-5.663', 'meas ac band_x1 when fall_x1=0 cross=last', 'meas ac band_x8 when fall_x8=0 cross=last',
    'alter vemf ac = 0', 'alter vemf2 ac = 1', 'ac dec 10 10 10k', 'meas ac other_x1 find vm(listen_b_x1) at=20',
  ], [
    near('gain_x1', 'emf to pin, times 1, at 20 Hz', 1, 0.004), near('gain_x8', 'emf to pin, times 8, at 20 Hz', 8, 0.032), size('loading_ppm', 'what the port takes away at 20 Hz, ppm', 500),
    near('x1_1kHz', 'port to pin, times 1, at 1 kHz', 1, 0.01), near('x8_1kHz', 'port to pin, times 8, at 1 kHz', 8, 0.08), above('band_x1', '-3 dB of times 1, Hz', 60e3),
    above('band_x8', '-3 dB of times 8, Hz', 60e3), below('neighbour', 'what the other channel hears of it', 0.002), near('other_x1', 'emf of the second coil to its pin', 1, 0.004),
  ]);
}

function step(netlist: Netlist): Deck {
  const clips = [1, 2, 3, 4];
  const coupled = Math.sqrt(2.3 * 2.4) * 0.08;
  return deck('step', '+1.8 V stepped onto 4.1 kilohm, 2.3 H (k 0.08 to 4.18 kilohm, 2.4 H): inductance and mutual inductance by their flux', [
    frontEnd(netlist, TYPICAL, clips), SUPPLIED, currentSource('0'), '.model on SW(VT=0.5 VH=0.1 RON=2.5 ROFF=1e12)', 'Von on 0 PWL(0 0 100u 0 100.01u 1)', 'Vmutual mutual 0 0',
    'Sdrv DRIVE_UP A_PLUS on 0 on', 'Szero 0 A_PLUS off 0 on', 'Boff off 0 V=1-V(on)',
    'Rc CLIP1 m 4100', 'Lc m CLIP2 2.3', 'Re m CLIP2 250k', 'Cc CLIP1 CLIP2 90p', 'Rd CLIP3 q 4180', 'Ld q CLIP4 2.4', 'Kc Lc Ld 0.08', 'Clead1 CLIP1 0 100p', 'Clead3 CLIP3 0 100p',
  ], [
    // Current on the reference first, as the logic does it, then the second coil on port B.
    ...setWord(word({ [A]: 1, [AM]: 2, [B]: 7, [BM]: 7, [RET]: 1 }), clips), 'tran 1u 20m 0 4u',
    'let port_b = v(buf_b_plus)-v(buf_b_minus)', 'let port_a = v(buf_a_plus)-v(buf_a_minus)', 'meas tran i_end find port_b at=19.9m', 'meas tran v_end find port_a at=19.9m',
    // The listening ADC sees the difference amplifiers: their output less the middle.
    'let amps = (v(listen_b_x1)-v(mid))/2000', 'let volts = v(listen_a_x1)-v(mid)', 'meas tran flux_v integ volts from=100u to=19.9m', 'meas tran charge integ amps from=100u to=19.9m',
    'let path = v_end/(i_end/2000)', 'let henry = (flux_v-path*charge)/(i_end/2000)', 'print henry',
    ...setWord(word({ [A]: 1, [AM]: 2, [B]: 3, [BM]: 4, [G1]: 4, [RET]: 1 }), clips), 'tran 1u 20m 0 4u', 'let sensed = v(listen_b_x1)-v(mid)',
    'meas tran flux_m integ sensed from=90u to=19.9m', 'let mutual_H = flux_m/(tran1.i_end/2000)', 'print mutual_H',
  ], [near('henry', 'inductance read, henries', 2.3, 0.046), near('mutual_H', 'mutual inductance read, henries', coupled, 0.02 * coupled)]);
}

function hum(netlist: Netlist): Deck {
  return deck('hum', "a hand of 100 pF to 230 V 50 Hz on the chassis lead and 10 pF of it onto a floating coil's plus end: what the listening inputs see", [
    frontEnd(netlist, TYPICAL), SUPPLIED, currentSource('0'), 'Vmains mains 0 DC 0 AC 325', 'Chand mains CLIP5 100p', 'Chand1 mains CLIP1 10p', 'Chand3 mains CLIP3 10p',
    'Rc CLIP1 m 4100', 'Lc m CLIP2 2.3', 'Rd CLIP3 q 4180', 'Ld q CLIP4 2.4', 'Cch1 CLIP5 CLIP1 100p', 'Cch3 CLIP5 CLIP3 100p',
  ], [
    ...setWord(TOUCH), 'ac lin 1 50 50', 'let heard_A = vm(listen_a_x1)', 'let heard_B = vm(listen_b_x1)', 'let chassis = vm(clip5)', 'print heard_A heard_B chassis',
    // The same with the chassis left open: why it is tied.
    ...setWord(TOUCH & ~(15 << 20)), 'ac lin 1 50 50', 'let open_A = vm(listen_a_x1)', 'print open_A',
  ], [
    below('heard_A', 'volts heard on A, amplitude; the times-8 range is 0.178 V', 0.02), below('heard_B', 'volts heard on B, amplitude', 0.02), below('chassis', 'volts on the tied chassis', 0.1),
    above('open_A', 'volts heard with the chassis left open', 0.02),
  ]);
}

/** Everything a fault may harm, as vectors, with what it may take. */
const HARMED: readonly (readonly [name: string, vector: string, what: string, limit: number])[] = [
  ['pulse_W', '(v(clip1)-v(k1))*(v(clip1)-v(k1))/1000', 'watts in the 1 kilohm at the clip; 0.5 W allowed', 0.5],
  ['sense_W', '(v(clip1)-v(s1))*(v(clip1)-v(s1))/10000', 'watts in the 10 kilohm; 0.1 W allowed', 0.1],
  ['after_W', '(v(k1)-v(f1))*(v(k1)-v(f1))/220', 'watts in the 220 ohm; 0.1 W allowed', 0.1],
  ['clamp_A', 'abs((v(clip1)-v(k1))/1000-(v(k1)-v(f1))/220)', 'amperes in the clamp; 0.11 A allowed', 0.11],
  ['shunt_A', 'abs((v(clip1)-v(k1))/1000)+abs((v(clip1)-v(s1))/10000)', 'amperes that a shunt takes at most; 70 mA allowed', 0.07],
  ['path_A', 'abs((v(k1)-v(f1))/220)', 'amperes through a closed switch; 30 mA allowed (from memory)', 0.03],
  ['inner_A', 'abs(@d_a_plus_1p[id])+abs(@d_a_plus_1n[id])', "amperes in one switch's inner diode; 10 mA taken as the limit", 0.01],
  ['port_A', 'abs(@d_a_plusp[id])+abs(@d_a_plusn[id])', "amperes in a common's inner diode; 10 mA taken as the limit", 0.01],
  ['buffer_A', 'abs(@d.xu31a.d1[id])+abs(@d.xu31a.d2[id])+abs(@d.xu32a.d1[id])', "amperes in a buffer's inner diode; 10 mA taken as the limit", 0.01],
  ['span_V', 'v(v_plus)-v(v_minus)', 'volts between the analog rails; 5.5 V allowed', 5.5],
];

/** 15 V between two clips, both ways round, with the tester on, off with its rails open, and off with its rails at 0 V. */
function faults(netlist: Netlist): Deck[] {
  const states = [
    ['on', SUPPLIED], ['off-open', 'Rp V_PLUS 0 1meg\nRm V_MINUS 0 1meg\nV33a n3V3A 0 0\nV30 n3V0 0 0'],
    ['off-held', 'Rp V_PLUS 0 1\nRm V_MINUS 0 1\nV33a n3V3A 0 0\nV30 n3V0 0 0'],
  ] as const;
  return states.map(([state, supplies]) => {
    const id = state.replace('-', '_');
    const commands: string[] = [];
    // All switches off, then with the two clips on the ports: a fault in the middle of a reading. Each figure is printed for every case.
    const words = [0, word({ [A]: 1, [AM]: 2, [B]: 1, [BM]: 2, [DRV]: 1, [RET]: 1 }), word({ [A]: 1, [AM]: 2,
      [B]: 1, [BM]: 2, [G1]: 1, [G2]: 2, [DRV]: 4, [RET]: 3 })];
    for (const throws of words) {
      for (const [volts, against] of [[15, 'clip'], [-15, 'clip'], [15, 'ground'], [-15, 'ground']] as const) {
        commands.push(...setWord(throws), `alter vfault dc = ${volts}`, `alter rground = ${against === 'ground' ? 0.1 : 1e12}`, 'op');
        for (const [name, vector] of HARMED) commands.push(`let ${id}_${name} = ${vector}`, `print ${id}_${name}`);
      }
    }
    const figures = HARMED.map(([name, , what, limit]) => below(`${id}_${name}`, what, limit));
    return deck(`fault-${state}`, `15 V between clips 1 and 2, or clip 1 and ground, either way round, tester ${state}: what each part takes`, [
      frontEnd(netlist, TYPICAL), supplies, currentSource('0'), 'Vfault CLIP1 other 15', 'Rother other CLIP2 0.1', 'Rground other 0 1e12',
    ], commands, figures);
  });
}

/** Rails of the clamps, the drives and the middle: what a meter shows at the test points. */
function rails(netlist: Netlist): Deck {
  return deck('rails', 'what a meter shows at the test points with nothing on the clips, and what higher voltages than 15 V would do', [
    frontEnd(netlist, TYPICAL), SUPPLIED, currentSource('0'), 'Vfault CLIP1 0 0', 'Rnone CLIP2 0 1e12',
  ], [
    ...setWord(0), 'op', `let clamp_high = v(${node('CLAMP_HIGH')})`, 'let clamp_low = v(clamp_low)', 'let plus_1v8 = v(plus_1v8)', 'let minus_1v8 = v(minus_1v8)', 'let mid = v(mid)',
    'print clamp_high clamp_low plus_1v8 minus_1v8 mid',
    ...[42, 48].flatMap((volts) => [`alter vfault dc = ${volts}`, 'op', `let at_${volts}_W = (v(clip1)-v(k1))*(v(clip1)-v(k1))/1000`, `print at_${volts}_W`,
      `let sense_${volts}_W = (v(clip1)-v(s1))*(v(clip1)-v(s1))/10000`, `print sense_${volts}_W`]),
  ], [
    { name: 'clamp_high', what: 'CLAMP_HIGH, volts', low: 2.02, high: 2.14 }, { name: 'clamp_low', what: 'CLAMP_LOW, volts', low: -2.14, high: -2.02 },
    near('plus_1v8', 'PLUS_1V8, volts', 1.8, 0.002), near('minus_1v8', 'MINUS_1V8, volts', -1.8, 0.002), near('mid', 'MID, volts', 1.5, 0.002),
    above('at_42_W', 'watts in the 1 kilohm of 0.5 W at 42 V: it burns', 0.5), above('at_48_W', 'the same at 48 V', 0.5), above('sense_42_W', 'watts in the 10 kilohm of 0.1 W at 42 V', 0.1),
    above('sense_48_W', 'the same at 48 V', 0.1),
  ]);
}

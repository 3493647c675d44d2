/**
 * Our own rules over the netlist: what a schematic checker does not know of this board. Each finding is one sentence.
 */
import { CLIPS, COMMONS, GPIO, SWITCHES, THROWS } from './netlist/pins.ts';
import { SUPPLIES } from './netlist/supplies.ts';
import type { Netlist, Part, Pin } from './netlist/model.ts';

interface End {
  readonly part: Part;
  readonly pin: Pin;
}

/** Ends of each net. */
function endsOf(netlist: Netlist): Map<string, End[]> {
  const ends = new Map<string, End[]>();
  for (const part of netlist.parts) {
    for (const pin of part.bought.pins) {
      const net = part.nets.get(pin.number);
      if (net === undefined) continue;
      if (!ends.has(net)) ends.set(net, []);
      ends.get(net)!.push({ part, pin });
    }
  }
  return ends;
}

/** Nets that feed supply pins but have no supply output: fed through a fuse, a bead, a shunt's resistor, or ground itself. */
export function fedNets(netlist: Netlist): string[] {
  return [...endsOf(netlist)]
    .filter(([, ends]) => ends.some(({ pin }) => pin.kind === 'power_in') && !ends.some(({ pin }) => pin.kind === 'power_out'))
    .map(([net]) => net).sort();
}

/** How each of those is fed; a net that is not here is a finding. */
const FED_BY: Readonly<Record<string, string>> = {
  GND: 'the connector', '5V': 'F1', '5V_PUMP': 'a bead', '3V3A': 'a bead', '3V0': 'a resistor and the shunt reference',
};

/** Lowest and highest volts of each supply; signals between them may not leave what a pin's supplies allow. */
export const SUPPLY_V: Readonly<Record<string, readonly [number, number]>> = {
  GND: [0, 0], V_PLUS: [2.5, 2.6], V_MINUS: [-2.56, -2.44], '3V3': [3.25, 3.35], '3V3A': [3.2, 3.35], '3V0': [2.99, 3.01], '1V1': [1.05, 1.15],
  '5V': [4.4, 5.25], '5V_PUMP': [4.3, 5.25], VBUS: [4.4, 5.25], CLAMP_HIGH: [2.02, 2.14], CLAMP_LOW: [-2.14, -2.02],
};

/** Least and most volts between a chip's positive and negative supply (data sheets; TMUX1108 and 74HC595 from memory). */
const SUPPLY_SPAN_V: Readonly<Record<string, readonly [string, string, number, number]>> = {
  TMUX1108PW: ['VDD', 'VSS', 2.7, 5.5], ADS124S08IPBS: ['AVDD', 'AVSS', 2.7, 5.25], OPA2325ID: ['V+', 'V-', 2.2, 5.5], OPA4376AIPW: ['V+', 'V-', 2.2, 5.5],
  OPA376AIDBV: ['V+', 'V-', 2.2, 5.5], '74HC595D': ['VCC', 'GND', 2, 6], W25Q16JVSS: ['VCC', 'GND', 2.7, 3.6], RP2040: ['IOVDD', 'GND', 1.8, 3.63],
  LM27762DSS: ['VIN', 'GND', 2.7, 5.5], 'AP2112K-3.3': ['VIN', 'GND', 2.5, 6], 'MCP9700A-E/TT': ['VDD', 'GND', 2.3, 5.5],
};

/** Digital nets, by the supply of what drives them: none may meet a pin of the analog rails other than the switches' and the converter's own logic pins. */
const LOGIC = /^(SWITCH_|CONVERTER_|CHAIN|UART|LIGHT_|BUTTON|WAND_PRESENT|RAILS_|QSPI|SW(CLK|DIO)|RUN)|_(EN|A0|A1|A2)$/;

/** RP2040 pads pull down with 50 to 80 kilohms in reset; a logic high of the parts on these lines is 0.7 of 3.3 V. */
const PAD_PULL_OHM = 50e3;
const PULL_OHM_most = 10e3;

/** What is wrong with the board: nothing, or a sentence each. */
export function findings(netlist: Netlist): string[] {
  const ends = endsOf(netlist);
  return [...singles(ends), ...undriven(ends), ...feeds(netlist), ...conflicts(ends), ...domains(netlist, ends),
    ...spans(netlist), ...resets(netlist, ends), ...matrix(netlist), ...decoupling(netlist), ...dividers(netlist)];
}

function singles(ends: ReadonlyMap<string, readonly End[]>): string[] {
  return [...ends].filter(([, list]) => list.length < 2).map(([net, [{ part, pin }]]) => `${net}: only ${part.ref}.${pin.number} is on it`);
}

const DRIVES = new Set(['output', 'power_out', 'tri_state', 'open_collector', 'bidirectional']);

/** An input must reach something that drives: a pin, or through resistors, beads and fuses a net that has one or a supply. */
function undriven(ends: ReadonlyMap<string, readonly End[]>): string[] {
  const reaches = (start: string): boolean => {
    const seen = new Set([start]);
    const queue = [start];
    while (queue.length > 0) {
      const net = queue.pop()!;
      const list = ends.get(net)!;
      if (net in SUPPLY_V || list.some(({ pin, part }) => DRIVES.has(pin.kind) || part.bought.family === 'connector' || part.ref === 'U41')) return true;
      for (const { part } of list) {
        if (!['resistor', 'bead', 'fuse', 'crystal'].includes(part.bought.family)) continue;
        for (const other of part.nets.values()) {
          if (!seen.has(other)) queue.push(other);
          seen.add(other);
        }
      }
    }
    return false;
  };
  // A port with every switch off floats on purpose: nothing is read then, and its buffers may stand where they like.
  const ports = new Set(Object.values(COMMONS));
  const inputs = [...ends].filter(([net, list]) => !ports.has(net) && list.some(({ pin }) => pin.kind === 'input'));
  return inputs.filter(([net]) => !reaches(net)).map(([net]) => `${net}: an input floats on it`);
}

function feeds(netlist: Netlist): string[] {
  return fedNets(netlist).filter((net) => !(net in FED_BY)).map((net) => `${net}: supply pins are on it and nothing feeds it`);
}

function conflicts(ends: ReadonlyMap<string, readonly End[]>): string[] {
  return [...ends].flatMap(([net, list]) => {
    const outputs = list.filter(({ pin }) => pin.kind === 'output' || pin.kind === 'power_out');
    return outputs.length > 1 ? [`${net}: driven by ${outputs.map(({ part, pin }) => `${part.ref}.${pin.number}`).join(' and ')}`] : [];
  });
}

/** Logic lines touch only logic pins and 3.3 V or ground; port nets never touch a logic pin. */
function domains(netlist: Netlist, ends: ReadonlyMap<string, readonly End[]>): string[] {
  const found: string[] = [];
  const logicParts = new Set(['RP2040', '74HC595D', 'W25Q16JVSS', 'TMUX1108PW', 'ADS124S08IPBS', 'LM27762DSS']);
  for (const [net, list] of ends) {
    if (!LOGIC.test(net)) continue;
    for (const { part, pin } of list) {
      if (part.bought.family === 'chip' && !logicParts.has(part.bought.example)) found.push(`${net}: a logic line ends at ${part.ref}.${pin.number}`);
      if (part.bought.family === 'chip' && pin.kind === 'passive') found.push(`${net}: a logic line ends at the analog pin ${part.ref}.${pin.number}`);
    }
    for (const { part } of list.filter((end) => end.part.bought.family === 'resistor')) {
      for (const other of part.nets.values()) {
        if (other !== net && (other.startsWith('V_') || other.startsWith('5V'))) found.push(`${net}: ${part.ref} pulls it to ${other}`);
      }
    }
  }
  // Their inputs take no more than their own supply, and what drives them stands at 3.3 V.
  for (const part of netlist.parts) {
    if (part.bought.example !== '74HC595D' && part.bought.example !== 'W25Q16JVSS') continue;
    const supply = part.nets.get(part.bought.pins.find(({ name }) => name === 'VCC')!.number);
    if (supply !== '3V3') found.push(`${part.ref}: its supply is ${supply}, its logic that of 3V3`);
  }
  const forces = new Set(Object.values(COMMONS));
  for (const part of netlist.parts) {
    if (part.bought.example !== 'RP2040') continue;
    for (const [pin, net] of part.nets) if (forces.has(net)) found.push(`${net}: ${part.ref}.${pin} is on a port`);
  }
  return found;
}

function spans(netlist: Netlist): string[] {
  return netlist.parts.flatMap((part) => {
    const limits = SUPPLY_SPAN_V[part.bought.example];
    if (limits === undefined) return [];
    const [plus, minus, least, most] = limits;
    const volts = (name: string): readonly [number, number] => {
      const net = part.nets.get(part.bought.pins.find((pin) => pin.name === name)!.number)!;
      const range = SUPPLY_V[net];
      if (range === undefined) throw new Error(`${part.ref}: ${net} is no supply`);
      return range;
    };
    const [low, high] = [volts(plus)[0] - volts(minus)[1], volts(plus)[1] - volts(minus)[0]];
    return low < least || high > most ? [`${part.ref}: ${low.toFixed(2)} to ${high.toFixed(2)} V between its supplies, ${least} to ${most} V allowed`] : [];
  });
}

/** In reset every line that must stand still does, against the pads' own pull, and every switch line is held. */
function resets(netlist: Netlist, ends: ReadonlyMap<string, readonly End[]>): string[] {
  const pullsOf = (net: string): { to: string; ohm: number }[] =>
    (ends.get(net) ?? []).filter(({ part }) => part.bought.family === 'resistor').map(({ part, pin }) => {
      const other = part.bought.pins.length === 2
        ? [...part.nets].find(([number]) => number !== pin.number)![1]
        : part.nets.get(String(9 - Number(pin.number)))!;
      return { to: other, ohm: part.size! * (1 + part.tolerance!) };
    });
  const found: string[] = [];
  for (const { name, atReset } of GPIO) {
    if (atReset === 'high') {
      const pull = pullsOf(name).find(({ to }) => to === '3V3');
      const share = pull === undefined ? 0 : PAD_PULL_OHM / (PAD_PULL_OHM + pull.ohm);
      if (share < 0.7) found.push(`${name}: must be high in reset and reaches ${(share * 100).toFixed(0)} % of the supply against the pad's pull`);
    } else if (atReset === 'low' && pullsOf(name).some(({ to }) => to === '3V3')) found.push(`${name}: must be low in reset and is pulled up`);
  }
  for (const name of ['RAILS_ENABLE', 'CONVERTER_RESET', 'CONVERTER_START']) {
    if (!pullsOf(name).some(({ to, ohm }) => to === 'GND' && ohm <= PULL_OHM_most * 1.011)) found.push(`${name}: no pull down of 10 k at most`);
  }
  for (const name of SWITCHES) {
    for (const line of ['EN', 'A0', 'A1', 'A2']) {
      const net = `${name}_${line}`;
      if (!pullsOf(net).some(({ to, ohm }) => to === 'GND' && ohm <= PULL_OHM_most * 1.051)) found.push(`${net}: nothing holds it while the registers are off`);
    }
  }
  return found;
}

/** Every switch's throws and common are on the nets that the tables name. */
function matrix(netlist: Netlist): string[] {
  const found: string[] = [];
  SWITCHES.forEach((name, index) => {
    const part = netlist.part(`U${index + 11}`);
    const netOf = (pin: string): string | undefined => part.nets.get(part.bought.pins.find((one) => one.name === pin)!.number);
    THROWS[name].forEach((net, k) => {
      if ((netOf(`S${k + 1}`) ?? null) !== net) found.push(`${part.ref}: throw ${k + 1} is on ${netOf(`S${k + 1}`)}, not ${net}`);
    });
    if (netOf('D') !== COMMONS[name]) found.push(`${part.ref}: its common is on ${netOf('D')}`);
  });
  for (const clip of CLIPS) {
    for (const net of [`F${clip}`, `S${clip}`, `K${clip}`]) if (!netlist.nets().has(net)) found.push(`${net}: missing`);
  }
  return found;
}

/** Every supply pin of a chip has a capacitor on its net within 12 mm. */
function decoupling(netlist: Netlist): string[] {
  const capacitors = netlist.parts.filter(({ bought }) => bought.family === 'capacitor');
  return netlist.parts.flatMap((part) =>
    part.bought.family !== 'chip' ? [] : part.bought.pins.filter(({ kind, number }) => kind === 'power_in'
      && part.nets.get(number) !== 'GND').flatMap((pin) => {
      const net = part.nets.get(pin.number)!;
      const near = capacitors.some((one) => [...one.nets.values()].includes(net)
        && Math.hypot(one.place.x - part.place.x, one.place.y - part.place.y) < 12);
      return near ? [] : [`${part.ref}.${pin.number}: no capacitor on ${net} within 12 mm`];
    }));
}

/** The rails that the dividers make are those that everything else counts on. */
function dividers(netlist: Netlist): string[] {
  const ratio = (top: string, middle: string, foot: string): number => {
    const between = (a: string, b: string): number =>
      netlist.parts.find(({ bought, nets }) => bought.family === 'resistor' && [...nets.values()].sort().join() === [a,
        b].sort().join())?.size ?? Number.NaN;
    return 1 + between(top, middle) / between(middle, foot);
  };
  const made: readonly (readonly [string, number, number])[] = [
    ['V_PLUS', SUPPLIES.plusReference_V * ratio('V_PLUS', 'FEEDBACK_PLUS', 'GND'), SUPPLIES.plus_V],
    ['V_MINUS', SUPPLIES.minusReference_V * ratio('V_MINUS', 'FEEDBACK_MINUS', 'GND'), SUPPLIES.minus_V],
    ['CLAMP_HIGH', SUPPLIES.shuntReference_V * ratio('CLAMP_HIGH', 'SHUNT_HIGH', 'GND'), SUPPLIES.clamp_V],
    ['CLAMP_LOW', SUPPLIES.shuntReference_V * ratio('GND', 'SHUNT_LOW', 'CLAMP_LOW'), SUPPLIES.clamp_V],
  ];
  return made.filter(([, is, wanted]) => !(Math.abs(is / wanted - 1) < 0.003)).map(([net, is, wanted]) => `${net}: its divider makes ${is.toFixed(3)} V, not ${wanted} V`);
}

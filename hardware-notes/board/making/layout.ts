/**
 * What is drawn by hand on the board: planes, the USB pair, the controller's vias, keepouts, guards and words. The parts' own
 * places stand with the parts in the netlist; the router does the rest.
 */
import { BOARD } from '../netlist/board.ts';
import { clipY } from '../netlist/front-end.ts';
import { CONTROLLER_AT, PRINTED } from '../netlist/controller.ts';
import type { Netlist } from '../netlist/model.ts';
import { CLIPS } from '../netlist/pins.ts';
import { FAB } from '../router/fab.ts';
import type { Job, Keepout, PlanePiece, Point, Track, Via } from '../router/job.ts';
import { routerPads } from './footprints.ts';

export type Area = readonly [x1: number, y1: number, x2: number, y2: number];

/** A plane: its outline for KiCad, and the same ground as areas for the router. */
export interface Plane extends PlanePiece {
  readonly outline: readonly Point[];
}

const EDGE = 0.5;
const points = (...list: readonly (readonly [number, number])[]): Point[] => list.map(([x, y]) => ({ x, y }));
const boxed = ([x1, y1, x2, y2]: Area): Point[] => points([x1, y1], [x2, y1], [x2, y2], [x1, y2]);
const plane = (net: string, inner: 1 | 2, area: Area): Plane => ({ net, inner, areas: [area], outline: boxed(area) });

const WHOLE: Area = [EDGE, EDGE, BOARD.width_mm - EDGE, BOARD.height_mm - EDGE];

/** The ground is whole on the first inner layer; supplies stand in stripes on the second, each below the parts that want it. */
export const PLANES: readonly Plane[] = [
  plane('GND', 1, WHOLE),
  plane('CLAMP_LOW', 2, [11, 4, 19.9, 79]),
  plane('CLAMP_HIGH', 2, [20.2, 4, 27.5, 79]),
  {
    net: 'V_MINUS', inner: 2, areas: [[27.8, 2, 38, 79], [27.8, 75, 62, 79], [54.2, 6.4, 62, 79]],
    outline: points([27.8, 2], [38, 2], [38, 75], [54.2, 75], [54.2, 6.4], [62, 6.4], [62, 79], [27.8, 79]),
  },
  {
    net: 'V_PLUS', inner: 2, areas: [[38.3, 2, 46, 74.7], [38.3, 2, 75, 6.1], [62.3, 2, 69, 79], [62.3, 2, 75, 33]],
    outline: points([38.3, 2], [75, 2], [75, 33], [69, 33], [69, 79], [62.3, 79], [62.3, 6.1], [46, 6.1], [46, 74.7], [38.3, 74.7]),
  },
  plane('3V3', 2, [46.3, 6.4, 53.9, 74.7]),
  {
    net: '3V3', inner: 2, areas: [[75.3, 2, 98, 79], [69.3, 33.3, 98, 79]],
    outline: points([75.3, 2], [98, 2], [98, 79], [69.3, 79], [69.3, 33.3], [75.3, 33.3]),
  },
];

/** Ground poured on both outer layers: the guard of the high-ohm nets. */
export const POUR = boxed(WHOLE);

const HIGH_OHM = /^(CLIP\d|[KFS]\d|[AB]_(PLUS|MINUS)|LEAK_SENSE|REFERENCE|BLEED|SOURCE)$/;
const DIGITAL = new RegExp(
  '^(SWITCH_|CHAIN|CONVERTER_|LIGHT_|BUTTON|WAND_PRESENT|UART|QSPI|RUN|BOOT|SW(CLK|DIO)|USB_|XIN|XOUT|CRYSTAL|RAILS_)|_(EN|A0|A1|A2)$',
);
/** How a net is to be treated beside others. */
export function kindOfNet(net: string): 'high-ohm' | 'digital' | 'plain' {
  return HIGH_OHM.test(net) ? 'high-ohm' : DIGITAL.test(net) ? 'digital' : 'plain';
}

const NO_VIA = /^(XIN|XOUT|CRYSTAL|USB_|CLIP\d|K\d)/;
const WIDE = new Set(['VBUS', '5V', '5V_PUMP', '3V3', '3V3A', '3V0', '1V1', 'V_PLUS', 'V_MINUS', 'CLAMP_HIGH', 'CLAMP_LOW', 'GND', 'PUMP_PLUS', 'PUMP_MINUS', 'PUMP_OUT']);

function line(net: string, ...way: readonly (readonly [number, number])[]): Track[] {
  return way.slice(1).map(([x, y], k) => ({ net, layer: 0, from: { x: way[k][0], y: way[k][1] }, to: { x, y }, width: FAB.track }));
}

/** The USB pair, side by side from the controller to the protection, on one layer and without a via. */
function usbPair(): Track[] {
  return [
    ...line('USB_MINUS', [86.6, 42.4], [86.6, 46.4], [86, 47], [86, 47.4]), ...line('USB_PLUS', [87, 42.4], [87, 46.4], [87.6, 47], [87.6, 47.4]),
    ...line('USB_MINUS_IN', [86, 49], [86, 49.4], [86.6, 50], [86.6, 66.3], [85.9, 67], [85.9, 67.7]),
    ...line('USB_PLUS_IN', [87.6, 49], [87.6, 49.4], [87, 50], [87, 66.3], [87.7, 67], [87.7, 67.7]),
  ];
}

/** Nine vias under the controller: its heat and its only ground. */
function controllerVias(): Via[] {
  return [-1, 0, 1].flatMap((i) => [-1, 0, 1].map((j) => ({ net: 'GND', at: { x: CONTROLLER_AT.x + i, y: CONTROLLER_AT.y + j } })));
}

/** Strips of bare ground between the clips' cells: no track may cross them on the front, and no mask covers them. */
export const GUARDS: readonly Area[] = CLIPS.slice(0, -1).map((clip) => {
  const y = clipY(clip) + 4.6;
  return [10.6, y - 0.25, 29, y + 0.25] as const;
});

const keepouts: Keepout[] = GUARDS.flatMap(([x1, y1, x2, y2]): Keepout[] => [
  { layer: 0, of: 'track', area: [x1 - 0.2, y1 - 0.3, x2 + 0.2, y2 + 0.3] }, { layer: 0, of: 'via', area: [x1 - 0.2, y1 - 0.4, x2 + 0.2, y2 + 0.4] },
]);

/** The router's job. */
export function jobOf(netlist: Netlist): Job {
  return {
    width: BOARD.width_mm, height: BOARD.height_mm, pads: netlist.parts.flatMap(routerPads), fixedTracks: usbPair(),
    fixedVias: controllerVias(), planes: PLANES, keepouts,
    noVia: (net) => NO_VIA.test(net), wide: (net) => WIDE.has(net), kind: kindOfNet, ground: 'GND',
  };
}

/** A word printed on the board. */
export interface Word {
  readonly text: string;
  readonly at: Point;
  readonly size: number;
  readonly layer: 'F.SilkS' | 'B.SilkS';
}

/** Words on the front: clip numbers large, which way of a terminal is the screen, test points by name. */
export function words(netlist: Netlist): Word[] {
  const front = (text: string, x: number, y: number, size: number): Word => ({ text, at: { x, y }, size, layer: 'F.SilkS' });
  const back = (text: string, x: number, y: number, size: number): Word => ({ text, at: { x, y }, size, layer: 'B.SilkS' });
  const clips = CLIPS.flatMap((clip) => [front(String(clip), 11.9, clipY(clip) + 3, 2), front('S', 11.5, clipY(clip) - 4.1, 1.5)]);
  const points = netlist.parts.filter(({ bought }) => bought.family === 'test point').map(({ value, place }) =>
    front(PRINTED[value] ?? value, place.x, place.y + (value === '3V0' ? 1.3 : -1.3), 0.6));
  return [
    ...clips, ...points, front('TEST', 86.2, 2.4, 1), front('BOOT', 93, 56.8, 0.8), front('WAND', 94.5, 9.6, 1), front('SWD', 95.4, 26.6, 0.8),
    front('S = signal, other way = screen', 18.5, 2.6, 0.8), front('LINE LEVEL ONLY: 15 V AT MOST ON ANY CLIP', 50, 1.4, 1),
    back(`${BOARD.title}  revision ${BOARD.revision}  never built`, 50, 40, 2), back('LINE LEVEL ONLY: 15 V AT MOST ON ANY CLIP', 50, 45, 1.5),
  ];
}

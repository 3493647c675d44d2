/** What a drawn picture says, read from its lines and texts alone. */
import type { Point, Scene, Shape } from '../../host/src/drawing/scene.ts';

export type Segment = readonly [Point, Point];

interface Box {
  readonly left: number;
  readonly top: number;
  readonly right: number;
  readonly bottom: number;
}

/** All shapes of a picture where they stand on the whole sheet. */
export function placed({ blocks }: Scene): Shape[] {
  const moved = (shape: Shape, by: number): Shape => {
    const down = ({ x, y }: Point): Point => ({ x, y: y + by });
    return 'points' in shape ? { ...shape, points: shape.points.map(down) } : { ...shape, at: down(shape.at) };
  };
  let top = 0;
  return blocks.flatMap(({ shapes, height }) => {
    const own = shapes.map((shape) => moved(shape, top));
    top += height;
    return own;
  });
}

/** What a picture says, its lines joined. */
export const wordsOf = (scene: Scene): string => placed(scene).flatMap((shape) => (shape.kind === 'text' ? [shape.text] : [])).join(' ');

/** The lines of a shape: its course or its outline; a circle's as sixteen chords, dots aside. */
export function segmentsOf(shape: Shape): Segment[] {
  if (shape.kind === 'text') return [];
  if (shape.kind === 'circle') {
    const round = Array.from({ length: 17 }, (_, at): Point => {
      const angle = (at * Math.PI) / 8;
      return { x: shape.at.x + shape.radius * Math.cos(angle), y: shape.at.y + shape.radius * Math.sin(angle) };
    });
    return round.slice(1).map((end, at) => [round[at]!, end]);
  }
  const points = shape.kind === 'area' ? [...shape.points, shape.points[0]!] : shape.points;
  return points.slice(1).map((end, at) => [points[at]!, end]);
}

/** Whether a segment has a point inside a box (Liang and Barsky's clipping). */
export function meetsBox([a, b]: Segment, { left, top, right, bottom }: Box): boolean {
  let [from, to] = [0, 1];
  const [dx, dy] = [b.x - a.x, b.y - a.y];
  for (const [p, q] of [[-dx, a.x - left], [dx, right - a.x], [-dy, a.y - top], [dy, bottom - a.y]] as const) {
    if (p === 0) {
      if (q <= 0) return false;
      continue;
    }
    if (p < 0) from = Math.max(from, q / p);
    else to = Math.min(to, q / p);
  }
  return from < to;
}

const near = (a: Point, b: Point, within: number): boolean => Math.hypot(a.x - b.x, a.y - b.y) <= within;

function isOn({ x, y }: Point, [a, b]: Segment): boolean {
  const between = (value: number, one: number, other: number): boolean =>
    value >= Math.min(one, other) - 0.01 && value <= Math.max(one, other) + 0.01;
  return between(x, a.x, b.x) && between(y, a.y, b.y);
}

/** Numbers of joints whose circles are wired together: straight wires that end in one point, or that a dot lies on.
 * Pickups and parts themselves connect nothing here: a wire ends at the circle of its joint.
 */
export function wiredTogether(shapes: readonly Shape[]): string[] {
  const joints = shapes.flatMap((shape, at) => {
    const next = shapes[at + 1];
    const isJoint = shape.kind === 'circle' && next?.kind === 'text' && /^\d+$/.test(next.text);
    return isJoint ? [{ at: shape.at, radius: shape.radius, number: Number(next.text) }] : [];
  });
  // The wires are drawn before the first pickup or part; the first circle of a joint ends them.
  const firstJoint = shapes.findIndex((shape) => shape.kind === 'text' && shape.bold && !/^\d+$/.test(shape.text));
  const wires = shapes.slice(0, firstJoint).flatMap((shape) => (shape.kind === 'line' ? segmentsOf(shape) : []));
  const dots = shapes.slice(0, firstJoint).flatMap((shape) => (shape.kind === 'circle' ? [shape.at] : []));
  // Short wires between channel and circle belong to the parts.
  const stubs = shapes.slice(firstJoint).flatMap((shape) => (shape.kind === 'line' && shape.points.length === 2 ? segmentsOf(shape) : []));
  const all = [...wires, ...stubs.filter(([, end]) => joints.some(({ at, radius }) => near(end, { x: at.x - radius, y: at.y }, 0.01)))];
  const group = all.map((_, at) => at);
  const merge = (a: number, b: number): void => {
    const [from, to] = [group[a]!, group[b]!];
    group.forEach((one, at) => { if (one === from) group[at] = to; });
  };
  all.forEach((one, i) => all.slice(0, i).forEach((other, k) => {
    const isEnd = one.some((end) => other.some((point) => near(end, point, 0.01)));
    if (isEnd || dots.some((dot) => isOn(dot, one) && isOn(dot, other))) merge(i, k);
  }));
  const numbers = new Map<number, Set<number>>();
  let alone = -1;
  for (const { at, radius, number } of joints) {
    const own = all.findIndex((segment) => segment.some((end) => near(end, at, radius + 0.05)));
    const key = own < 0 ? alone-- : group[own]!;
    numbers.set(key, (numbers.get(key) ?? new Set()).add(number));
  }
  // Lugs of one node bear one number: what is alone on a lug may stand twice.
  return [...new Set([...numbers.values()].map((some) => [...some].sort((a, b) => a - b).join()))];
}

/** What coils that are joined to one another give at hot against ground, by Kirchhoff's current law. */

/** A coil as the wiring sees it. */
export interface CircuitCoil {
  readonly minus: number;
  readonly plus: number;
  readonly ohm: number;
}

/** Points that were joined become one. */
export class Nets {
  private readonly parent = new Map<number, number>();

  /** The net of a point, named by one of its points. */
  of(point: number): number {
    let at = point;
    for (let up = this.parent.get(at); up !== undefined; up = this.parent.get(at)) at = up;
    return at;
  }

  join(points: readonly number[]): void {
    for (const point of points.slice(1)) {
      const [a, b] = [this.of(points[0] as number), this.of(point)];
      if (a !== b) this.parent.set(b, a);
    }
  }

  same(a: number, b: number): boolean {
    return this.of(a) === this.of(b);
  }
}

/**
 * Share of each coil's own voltage (plus against minus) that stands at hot against ground with nothing connected:
 * 1 for a coil in series, -1 when it is reversed, R2/(R1+R2) for one of two in parallel, 0 when it has no part.
 *
 * Each coil is its voltage behind its resistance; the currents at every net but ground sum to zero.
 * @returns one share per coil, or null when hot and ground are one net or no coil leads from one to the other
 */
export function shares(
  coils: readonly CircuitCoil[],
  nets: Nets,
  hot: number,
  ground: number,
): number[] | null {
  if (nets.same(hot, ground)) return null;
  const reached = reachable(coils, nets, ground);
  if (!reached.has(nets.of(hot))) return null;
  const unknowns = [...reached].filter((net) => net !== nets.of(ground));
  const index = new Map(unknowns.map((net, at) => [net, at]));
  const size = unknowns.length;
  // One row per net: conductances, then for each coil the current that 1 volt in it drives into the net.
  const rows = unknowns.map(() => new Array<number>(size + coils.length).fill(0));
  coils.forEach((coil, at) => {
    const conductance = 1 / coil.ohm;
    const plus = index.get(nets.of(coil.plus));
    const minus = index.get(nets.of(coil.minus));
    if (nets.same(coil.plus, coil.minus) || !reached.has(nets.of(coil.plus))) return;
    for (const [own, other, sign] of [
      [plus, minus, 1],
      [minus, plus, -1],
    ] as const) {
      if (own === undefined) continue;
      const row = rows[own] as number[];
      row[own] = (row[own] as number) + conductance;
      if (other !== undefined) row[other] = (row[other] as number) - conductance;
      row[size + at] = (row[size + at] as number) + sign * conductance;
    }
  });
  eliminate(rows, size);
  const wanted = index.get(nets.of(hot)) as number;
  const row = rows[wanted] as number[];
  return coils.map((_, at) => (row[size + at] as number) / (row[wanted] as number));
}

function reachable(coils: readonly CircuitCoil[], nets: Nets, from: number): Set<number> {
  const reached = new Set([nets.of(from)]);
  for (let before = -1; before !== reached.size;) {
    before = reached.size;
    for (const coil of coils) {
      const [a, b] = [nets.of(coil.minus), nets.of(coil.plus)];
      if (reached.has(a)) reached.add(b);
      if (reached.has(b)) reached.add(a);
    }
  }
  return reached;
}

/** Gauss-Jordan elimination of the first `size` columns; a grounded network's matrix is positive definite, so no pivot is zero. */
function eliminate(rows: number[][], size: number): void {
  for (let column = 0; column < size; column++) {
    const pivot = rows[column] as number[];
    for (let at = 0; at < size; at++) {
      if (at === column) continue;
      const row = rows[at] as number[];
      const factor = (row[column] as number) / (pivot[column] as number);
      if (factor === 0) continue;
      for (let k = column; k < row.length; k++)
        row[k] = (row[k] as number) - factor * (pivot[k] as number);
    }
  }
}

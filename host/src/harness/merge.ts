/** Points that become one as they are joined. */
export class Merge {
  private readonly parent: Int32Array;

  /** @param size - number of points, or what another merge holds */
  constructor(size: number | Merge) {
    this.parent = typeof size === 'number' ? Int32Array.from({ length: size }, (_, at) => at) : size.parent.slice();
  }

  /** The point that stands for all that a point was joined to. */
  find(point: number): number {
    const { parent } = this;
    let root = point;
    while (parent[root] !== root) root = parent[root] as number;
    for (let at = point; at !== root; ) {
      const up = parent[at] as number;
      parent[at] = root;
      at = up;
    }
    return root;
  }

  join(a: number, b: number): void {
    this.parent[this.find(a)] = this.find(b);
  }

  same(a: number, b: number): boolean {
    return this.find(a) === this.find(b);
  }
}

/** A binary heap of nodes by their key, in typed arrays that grow. */
export class Heap {
  #keys = new Int32Array(1 << 16);
  #nodes = new Int32Array(1 << 16);
  #size = 0;
  /** Key of the node popped last. */
  poppedKey = 0;

  clear(): void {
    this.#size = 0;
  }

  push(key: number, node: number): void {
    if (++this.#size >= this.#keys.length) this.#grow();
    const keys = this.#keys;
    const nodes = this.#nodes;
    let i = this.#size;
    while (i > 1 && keys[i >> 1] > key) {
      keys[i] = keys[i >> 1];
      nodes[i] = nodes[i >> 1];
      i >>= 1;
    }
    keys[i] = key;
    nodes[i] = node;
  }

  /** @returns the node with the least key, or -1 when there is none */
  pop(): number {
    if (this.#size === 0) return -1;
    const keys = this.#keys;
    const nodes = this.#nodes;
    const top = nodes[1];
    this.poppedKey = keys[1];
    const key = keys[this.#size];
    const node = nodes[this.#size--];
    let i = 1;
    for (let child = 2; child <= this.#size; child = 2 * i) {
      if (child < this.#size && keys[child + 1] < keys[child]) child++;
      if (keys[child] >= key) break;
      keys[i] = keys[child];
      nodes[i] = nodes[child];
      i = child;
    }
    keys[i] = key;
    nodes[i] = node;
    return top;
  }

  #grow(): void {
    const keys = new Int32Array(2 * this.#keys.length);
    keys.set(this.#keys);
    this.#keys = keys;
    const nodes = new Int32Array(2 * this.#nodes.length);
    nodes.set(this.#nodes);
    this.#nodes = nodes;
  }
}

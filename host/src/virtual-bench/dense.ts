/** Small dense matrices, row by row in a Float64Array: what the circuit engine needs and no more. */

/** Solves A X = B in place by elimination with row pivoting.
 * @param a - n x n, destroyed
 * @param b - n x columns, replaced by X
 * @throws when A is singular to working precision
 */
export function solveInPlace(a: Float64Array, n: number, b: Float64Array, columns: number): void {
  for (let k = 0; k < n; k++) {
    let pivot = k;
    for (let i = k + 1; i < n; i++) {
      if (Math.abs(a[i * n + k]) > Math.abs(a[pivot * n + k])) pivot = i;
    }
    if (!(Math.abs(a[pivot * n + k]) > 0)) throw new Error('the circuit matrix is singular');
    if (pivot !== k) {
      swapRows(a, n, k, pivot);
      swapRows(b, columns, k, pivot);
    }
    const inverse = 1 / a[k * n + k];
    for (let i = k + 1; i < n; i++) {
      const factor = a[i * n + k] * inverse;
      if (factor === 0) continue;
      for (let j = k + 1; j < n; j++) a[i * n + j] -= factor * a[k * n + j];
      for (let j = 0; j < columns; j++) b[i * columns + j] -= factor * b[k * columns + j];
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    const inverse = 1 / a[k * n + k];
    for (let j = 0; j < columns; j++) {
      let sum = b[k * columns + j];
      for (let i = k + 1; i < n; i++) sum -= a[k * n + i] * b[i * columns + j];
      b[k * columns + j] = sum * inverse;
    }
  }
}

function swapRows(a: Float64Array, width: number, i: number, j: number): void {
  for (let c = 0; c < width; c++) {
    const kept = a[i * width + c];
    a[i * width + c] = a[j * width + c];
    a[j * width + c] = kept;
  }
}

/** out = A B for square matrices; out must be another array than A and B. */
export function multiply(a: Float64Array, b: Float64Array, n: number, out: Float64Array): void {
  out.fill(0);
  for (let i = 0; i < n; i++) {
    const row = i * n;
    for (let k = 0; k < n; k++) {
      const factor = a[row + k];
      if (factor === 0) continue;
      const from = k * n;
      for (let j = 0; j < n; j++) out[row + j] += factor * b[from + j];
    }
  }
}

/** exp(A t) - I for a t so short that the series of 12 terms is exact to rounding (|A| t <= 1). */
export function shortExponentialLess1(a: Float64Array, n: number, t: number): Float64Array {
  const sum = new Float64Array(n * n);
  let term = a.map((value) => value * t);
  let next: Float64Array = new Float64Array(n * n);
  for (let order = 2; order <= 13; order++) {
    for (let i = 0; i < sum.length; i++) sum[i] += term[i];
    multiply(term, a, n, next);
    for (let i = 0; i < next.length; i++) next[i] *= t / order;
    [term, next] = [next as Float64Array<ArrayBuffer>, term];
  }
  return sum;
}

/** F = exp(Z) - I becomes exp(2 Z) - I = 2 F + F F: slow modes keep all their digits. */
export function doubled(f: Float64Array, n: number): Float64Array {
  const out = new Float64Array(n * n);
  multiply(f, f, n, out);
  for (let i = 0; i < out.length; i++) out[i] += 2 * f[i];
  return out;
}

/** Largest row sum of absolute values. */
export function rowNorm(a: Float64Array, n: number): number {
  let norm = 0;
  for (let i = 0; i < n; i++) {
    let sum = 0;
    for (let j = 0; j < n; j++) sum += Math.abs(a[i * n + j]);
    norm = Math.max(norm, sum);
  }
  return norm;
}

/** Whether a symmetric matrix is positive definite, by Cholesky's factorisation. */
export function isPositiveDefinite(a: Float64Array, n: number): boolean {
  const factor = Float64Array.from(a);
  for (let k = 0; k < n; k++) {
    for (let j = 0; j < k; j++) {
      const value = factor[k * n + j];
      for (let i = k; i < n; i++) factor[i * n + k] -= value * factor[i * n + j];
    }
    const pivot = factor[k * n + k];
    if (!(pivot > 0)) return false;
    const root = Math.sqrt(pivot);
    for (let i = k; i < n; i++) factor[i * n + k] /= root;
  }
  return true;
}

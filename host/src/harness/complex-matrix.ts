/**
 * Square systems of complex equations, small and dense. Numbers lie interleaved (real, imaginary) in rows.
 *
 * Gaussian elimination with partial pivoting: Golub and Van Loan, Matrix Computations, 4th edition, 3.4.
 */

/** Factors a matrix in place into L and U; rows change places as `pivots` tells.
 * @param a - size rows of size complex numbers
 * @param pivots - size entries, filled
 * @returns false when the matrix is singular
 */
export function factor(a: Float64Array, size: number, pivots: Int32Array): boolean {
  const row = 2 * size;
  for (let k = 0; k < size; k++) {
    let best = k;
    let most = 0;
    for (let i = k; i < size; i++) {
      const at = i * row + 2 * k;
      const magnitude = Math.abs(a[at]!) + Math.abs(a[at + 1]!);
      if (magnitude > most) [most, best] = [magnitude, i];
    }
    pivots[k] = best;
    if (!(most > 0)) return false;
    if (best !== k) swapRows(a, k * row, best * row, row);
    const base = k * row;
    const [re, im] = [a[base + 2 * k]!, a[base + 2 * k + 1]!];
    const square = re * re + im * im;
    for (let i = k + 1; i < size; i++) {
      const other = i * row;
      const [x, y] = [a[other + 2 * k]!, a[other + 2 * k + 1]!];
      if (x === 0 && y === 0) continue;
      const fr = (x * re + y * im) / square;
      const fi = (y * re - x * im) / square;
      a[other + 2 * k] = fr;
      a[other + 2 * k + 1] = fi;
      for (let j = 2 * k + 2; j < row; j += 2) {
        const [ur, ui] = [a[base + j]!, a[base + j + 1]!];
        a[other + j] = a[other + j]! - fr * ur + fi * ui;
        a[other + j + 1] = a[other + j + 1]! - fr * ui - fi * ur;
      }
    }
  }
  return true;
}

/** Solves for several right sides at once, in place.
 * @param a - what `factor` left
 * @param b - size rows of `columns` complex numbers
 */
export function solve(a: Float64Array, size: number, pivots: Int32Array, b: Float64Array, columns: number): void {
  const row = 2 * columns;
  for (let k = 0; k < size; k++) {
    const other = pivots[k]!;
    if (other !== k) swapRows(b, k * row, other * row, row);
  }
  for (let i = 1; i < size; i++) for (let k = 0; k < i; k++) subtract(a, 2 * (i * size + k), b, i * row, k * row, row);
  for (let i = size - 1; i >= 0; i--) {
    for (let k = i + 1; k < size; k++) subtract(a, 2 * (i * size + k), b, i * row, k * row, row);
    const at = 2 * (i * size + i);
    const [re, im] = [a[at]!, a[at + 1]!];
    const square = re * re + im * im;
    for (let j = i * row; j < (i + 1) * row; j += 2) {
      const [x, y] = [b[j]!, b[j + 1]!];
      b[j] = (x * re + y * im) / square;
      b[j + 1] = (y * re - x * im) / square;
    }
  }
}

/** Row `to` of b minus a number of a times row `from` of b. */
function subtract(a: Float64Array, factorAt: number, b: Float64Array, to: number, from: number, length: number): void {
  const [fr, fi] = [a[factorAt]!, a[factorAt + 1]!];
  if (fr === 0 && fi === 0) return;
  for (let j = 0; j < length; j += 2) {
    const [x, y] = [b[from + j]!, b[from + j + 1]!];
    b[to + j] = b[to + j]! - fr * x + fi * y;
    b[to + j + 1] = b[to + j + 1]! - fr * y - fi * x;
  }
}

function swapRows(a: Float64Array, first: number, second: number, length: number): void {
  for (let j = 0; j < length; j++) [a[first + j], a[second + j]] = [a[second + j]!, a[first + j]!];
}

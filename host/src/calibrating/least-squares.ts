/** Least squares of a few parameters by Gauss and Newton, with the uncertainties that follow from what is left. */

/** Of the steps that a parameter is tried by, relative to its own size. */
const STEP = 1e-6;
const ROUNDS_most = 40;
const SETTLED = 1e-6;

export type Fit = {
  readonly parameters: readonly number[];
  /** Standard uncertainties. */
  readonly u: readonly number[];
  /** Root mean square of what the fit leaves. */
  readonly rms: number;
};

type Model = (parameters: readonly number[], n: number) => number;

/**
 * @param start - first guess @param scales - the size that each parameter is of
 * @param model - what the n-th value should be @param values - what they are
 * @returns null when the values do not tell the parameters
 */
export function leastSquares(start: readonly number[], scales: readonly number[], model: Model, values: readonly number[]): Fit | null {
  const count = start.length;
  if (values.length <= count) return null;
  let parameters = [...start];
  for (let round = 0; ; round++) {
    const { normal, right, squares } = equations(parameters, scales, model, values);
    const inverse = inverseOf(normal);
    if (inverse === null) return null;
    const steps = inverse.map((row) => row.reduce((sum, value, i) => sum + value * right[i]!, 0));
    if (round === ROUNDS_most) return null;
    if (steps.every((step) => Math.abs(step) < SETTLED)) {
      const variance = squares / (values.length - count);
      const u = inverse.map((row, i) => scales[i]! * Math.sqrt(variance * row[i]!));
      return { parameters, u, rms: Math.sqrt(squares / values.length) };
    }
    parameters = parameters.map((value, i) => value + steps[i]! * scales[i]!);
    if (!parameters.every(Number.isFinite)) return null;
  }
}

/** Normal equations in units of the scales. */
function equations(
  parameters: readonly number[], scales: readonly number[], model: Model, values: readonly number[],
): { normal: number[][]; right: number[]; squares: number } {
  const count = parameters.length;
  const normal = parameters.map(() => new Array<number>(count).fill(0));
  const right = new Array<number>(count).fill(0);
  let squares = 0;
  const moved = parameters.map((_, i) => parameters.map((value, j) => value + (i === j ? STEP * scales[i]! : 0)));
  values.forEach((value, n) => {
    const here = model(parameters, n);
    const rest = value - here;
    const gains = moved.map((other) => (model(other, n) - here) / STEP);
    squares += rest * rest;
    for (let i = 0; i < count; i++) {
      right[i]! += gains[i]! * rest;
      for (let j = 0; j < count; j++) normal[i]![j]! += gains[i]! * gains[j]!;
    }
  });
  return { normal, right, squares };
}

/** Gauss and Jordan, the largest pivot first. */
function inverseOf(matrix: readonly (readonly number[])[]): number[][] | null {
  const count = matrix.length;
  const work = matrix.map((row, i) => [...row, ...row.map((_, j) => (i === j ? 1 : 0))]);
  for (let column = 0; column < count; column++) {
    let best = column;
    for (let row = column + 1; row < count; row++) if (Math.abs(work[row]![column]!) > Math.abs(work[best]![column]!)) best = row;
    const pivot = work[best]![column]!;
    if (!(Math.abs(pivot) > 0)) return null;
    [work[column], work[best]] = [work[best]!, work[column]!];
    work[column] = work[column]!.map((value) => value / pivot);
    for (let row = 0; row < count; row++) {
      if (row === column) continue;
      const factor = work[row]![column]!;
      work[row] = work[row]!.map((value, i) => value - factor * work[column]![i]!);
    }
  }
  return work.map((row) => row.slice(count));
}

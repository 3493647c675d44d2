/** Sizes of labels. */

/** Millimetres. */
export interface LabelSize {
  readonly width_mm: number;
  readonly height_mm: number;
}

/** Ours; A6 is ISO 216. */
export const LABEL: LabelSize = { width_mm: 60, height_mm: 30 };
export const A6: LabelSize = { width_mm: 105, height_mm: 148 };

/** Edges of a label, millimetres. */
const EDGE_least_mm = 10;
const EDGE_most_mm = 300;
export const SIZE_EXPECTED = `a6, or width and height of ${EDGE_least_mm} to ${EDGE_most_mm} mm, such as 60x30`;

/** A size as people write it, or null. */
export function readLabelSize(text: string): LabelSize | null {
  if (/^a6$/i.test(text)) return A6;
  const [, width, height] = /^(\d{1,3}(?:\.\d+)?)x(\d{1,3}(?:\.\d+)?)$/i.exec(text) ?? [];
  const size = { width_mm: Number(width), height_mm: Number(height) };
  return [size.width_mm, size.height_mm].every((edge) => edge >= EDGE_least_mm && edge <= EDGE_most_mm) ? size : null;
}

/** The size as people write it. */
export function sizeInWords({ width_mm, height_mm }: LabelSize): string {
  return `${width_mm}x${height_mm}`;
}

/** How many labels lie side by side and below one another on A4. */
export function labelsOnA4({ width_mm, height_mm }: LabelSize): readonly [number, number] {
  return [Math.floor(210 / width_mm), Math.floor(297 / height_mm)];
}

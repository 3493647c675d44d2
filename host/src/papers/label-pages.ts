/** Labels on pages of their own size, or many on pages of A4 to be cut. */
import { A4_x, A4_y, type PaperPage } from '../drawing/pdf.ts';
import { at, box, FAINT, type Shape } from '../drawing/scene.ts';
import { labelShapes, POINTS_mm } from './label.ts';
import type { TestedPickup } from './tested-pickup.ts';

/** Millimetres. */
export interface LabelSize {
  readonly width_mm: number;
  readonly height_mm: number;
}

/** Ours; A6 is ISO 216. */
export const LABEL: LabelSize = { width_mm: 60, height_mm: 30 };
export const A6: LabelSize = { width_mm: 105, height_mm: 148 };
const LINE = 0.4;

/** A page for each label. @throws LabelTooSmall */
export function labelPages(pickups: readonly TestedPickup[], size: LabelSize): PaperPage[] {
  const [width, height] = inPoints(size);
  return pickups.map((pickup) => ({ width, height, pictures: [{ left: 0, top: 0, shapes: labelShapes(pickup, width, height) }] }));
}

/** How many labels lie side by side and below one another on A4. */
export function labelsOnA4({ width_mm, height_mm }: LabelSize): readonly [number, number] {
  return [Math.floor(210 / width_mm), Math.floor(297 / height_mm)];
}

/** Labels row by row, with a faint line to cut along around each. @throws LabelTooSmall */
export function labelsOnPages(pickups: readonly TestedPickup[], size: LabelSize): PaperPage[] {
  const [width, height] = inPoints(size);
  const [columns, rows] = labelsOnA4(size);
  const [left, top] = [(A4_x - columns * width) / 2, (A4_y - rows * height) / 2];
  const edge: Shape = box(at(0, 0), width, height, { colour: FAINT, width: LINE });
  const pages: PaperPage[] = [];
  for (let from = 0; from < pickups.length; from += columns * rows) {
    pages.push({
      width: A4_x, height: A4_y,
      pictures: pickups.slice(from, from + columns * rows).map((pickup, index) => ({
        left: left + (index % columns) * width, top: top + Math.floor(index / columns) * height,
        shapes: [edge, ...labelShapes(pickup, width, height)],
      })),
    });
  }
  return pages;
}

function inPoints({ width_mm, height_mm }: LabelSize): readonly [number, number] {
  return [width_mm * POINTS_mm, height_mm * POINTS_mm];
}

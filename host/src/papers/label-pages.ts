/** Labels on pages of their own size, or many on pages of A4 to be cut. */
import { A4_x, A4_y, type PaperPage } from '../drawing/pdf.ts';
import { at, box, FAINT, type Shape } from '../drawing/scene.ts';
import { labelShapes, POINTS_mm } from './label.ts';
import { labelsOnA4, type LabelSize } from './label-size.ts';
import type { TestedPickup } from './tested-pickup.ts';

const LINE = 0.4;

/** A page for each label. @throws LabelTooSmall */
export function labelPages(pickups: readonly TestedPickup[], size: LabelSize): PaperPage[] {
  const [width, height] = inPoints(size);
  return pickups.map((pickup) => ({ width, height, pictures: [{ left: 0, top: 0, shapes: labelShapes(pickup, width, height) }] }));
}

/** Labels row by row, with a faint line to cut along around each.
 * @param skip - places of the first page that are used already, 0 or more
 * @throws LabelTooSmall
 */
export function labelsOnPages(pickups: readonly TestedPickup[], size: LabelSize, skip: number): PaperPage[] {
  const [width, height] = inPoints(size);
  const [columns, rows] = labelsOnA4(size);
  const [left, top] = [(A4_x - columns * width) / 2, (A4_y - rows * height) / 2];
  const edge: Shape = box(at(0, 0), width, height, { colour: FAINT, width: LINE });
  const pages: PaperPage[] = [];
  for (let from = 0, place = skip; from < pickups.length; place = 0) {
    const shown = pickups.slice(from, from + columns * rows - place);
    from += shown.length;
    pages.push({
      width: A4_x, height: A4_y,
      pictures: shown.map((pickup, index) => ({
        left: left + ((place + index) % columns) * width, top: top + Math.floor((place + index) / columns) * height,
        shapes: [edge, ...labelShapes(pickup, width, height)],
      })),
    });
  }
  return pages;
}

function inPoints({ width_mm, height_mm }: LabelSize): readonly [number, number] {
  return [width_mm * POINTS_mm, height_mm * POINTS_mm];
}

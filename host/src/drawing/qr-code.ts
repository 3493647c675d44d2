/** A text as a QR code (ISO/IEC 18004), drawn with the four modules of free paper around it that the standard asks for. */
import encodeQR from 'qr';
import { at, box, INK, type Point, type Shape } from './scene.ts';

/** Modules of free paper on each side (ISO/IEC 18004:2015, 6.3.8). */
const QUIET = 4;

export interface QrCode {
  /** Modules across, the free paper included. */
  readonly modules: number;
  /** @param corner - upper left, of the free paper @param side - with the free paper */
  shapes(corner: Point, side: number): Shape[];
}

/** @param text - not empty; letters beyond ASCII are written as UTF-8 */
export function qrCode(text: string): QrCode {
  const dark = encodeQR(text, 'raw', { ecc: 'medium', border: QUIET });
  const modules = dark.length;
  return {
    modules,
    shapes: (corner, side) => {
      const unit = side / modules;
      return dark.flatMap((row, y) => runs(row).map(([from, to]) => box(
        at(corner.x + from * unit, corner.y + y * unit), (to - from) * unit, unit, { fill: INK })));
    },
  };
}

/** Stretches of dark modules: where each begins, and where it has ended. */
function runs(row: readonly boolean[]): [number, number][] {
  const found: [number, number][] = [];
  row.forEach((isDark, x) => {
    const last = found.at(-1);
    if (isDark && last?.[1] === x) last[1] = x + 1;
    else if (isDark) found.push([x, x + 1]);
  });
  return found;
}

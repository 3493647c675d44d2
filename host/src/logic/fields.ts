/** Fields of the module's blocks, read and written by the generated view: nobody else counts bytes. */

/** Where a field of a block lies, and what it is; the generated view has one for each. */
interface Field {
  readonly at: number;
  readonly type: string;
}

/** The fields of a block, with its size. */
export type BlockLayout = { readonly size: number } & { readonly [name: string]: number | Field };

/** Names of a block's fields. */
export type FieldName<T> = Exclude<keyof T, 'size'>;

/** Reads one field.
 * @param base - where the block begins in `view`
 * @throws TypeError for a type that no number holds
 */
function readField(view: DataView, base: number, { at, type }: Field): number {
  switch (type) {
    case 'u8':
      return view.getUint8(base + at);
    case 'u16':
      return view.getUint16(base + at, true);
    case 'i16':
      return view.getInt16(base + at, true);
    case 'u32':
      return view.getUint32(base + at, true);
    case 'f32':
      return view.getFloat32(base + at, true);
    default:
      throw new TypeError(`a field of type ${type} is not read as a number`);
  }
}

/** Writes one field. @throws TypeError for a type that no number holds */
function writeField(view: DataView, base: number, { at, type }: Field, value: number): void {
  switch (type) {
    case 'u8':
      view.setUint8(base + at, value);
      break;
    case 'u16':
      view.setUint16(base + at, value, true);
      break;
    case 'i16':
      view.setInt16(base + at, value, true);
      break;
    case 'u32':
      view.setUint32(base + at, value, true);
      break;
    case 'f32':
      view.setFloat32(base + at, value, true);
      break;
    default:
      throw new TypeError(`a field of type ${type} is not written as a number`);
  }
}

/** The fields of one block by their names; 64-bit fields are left out. */
export function readBlock<T extends BlockLayout>(view: DataView, base: number, layout: T): Record<FieldName<T>, number> {
  const fields = Object.entries(layout).filter((entry): entry is [string, Field] => {
    return typeof entry[1] === 'object' && !entry[1].type.endsWith('64');
  });
  return Object.fromEntries(fields.map(([name, field]) => [name, readField(view, base, field)])) as Record<FieldName<T>, number>;
}

/** Writes the fields that have a value; the others stay. */
export function writeBlock<T extends BlockLayout>(
  view: DataView,
  base: number,
  layout: T,
  values: { readonly [name in FieldName<T>]?: number | undefined },
): void {
  for (const [name, value] of Object.entries<number | undefined>(values)) {
    if (value !== undefined) writeField(view, base, layout[name] as Field, value);
  }
}

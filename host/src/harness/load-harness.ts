/** Reads a harness with the wire maps of what is fitted. */
import { dirname, isAbsolute, join } from 'node:path';
import { FileProblem } from '../edge/files.ts';
import { loadRecord, RefusedEvidence } from '../evidence/load-record.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { asBenchRecord } from '../files/bench-file.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { FieldError } from '../files/field-walk.ts';
import { ContentProblem, oneDocument } from '../files/one-document.ts';
import { printable } from '../text/printable.ts';
import { asWireMap, type WireMapFile } from '../files/wiremap-file.ts';
import { createLogic } from '../logic/module.ts';
import { asHarness } from './harness-file.ts';
import type { Harness } from './harness.ts';
import { fitPickups, type FittedPickup, type MapWithColours } from './fitted-pickup.ts';

/** A harness and the pickups in it, ready to be solved. */
export interface LoadedHarness {
  readonly harness: Harness;
  readonly pickups: readonly FittedPickup[];
}

/** A wire map or record that a harness names and that is not there. */
export class MissingMap extends Error {
  constructor(message: string) {
    super(message);
    this.name = 'MissingMap';
  }
}

/** Reads a harness file.
 * @param path - as the user wrote it; wire maps are looked for beside it
 * @throws ContentProblem for what is wrong in the harness or in a map, MissingMap naming the field, FileProblem for the harness itself
 */
export async function loadHarness(path: string): Promise<LoadedHarness> {
  return withPickups(await oneDocument(path, asHarness), path);
}

/** Paths of the wire maps and records of what is fitted, in its order. @param path - of the harness's file */
export function pickupFiles({ fitted }: Harness, path: string): string[] {
  const folder = path === '-' ? '.' : dirname(path);
  return fitted.map(({ map, record }) => (record ?? map) as string).map((name) => (isAbsolute(name) ? name : join(folder, name)));
}

/** A harness with the pickups that its file names. @param path - of that file @throws as loadHarness */
export async function withPickups(harness: Harness, path: string): Promise<LoadedHarness> {
  const files = pickupFiles(harness, path);
  const maps: MapWithColours[] = [];
  for (const [at, fitted] of harness.fitted.entries()) {
    const key = fitted.record === undefined ? 'map' : 'record';
    const name = (fitted.record ?? fitted.map) as string;
    const file = files[at]!;
    try {
      maps.push(
        key === 'map'
          ? mapWithColours(await oneDocument(file, asWireMap))
          : solveRecord(await oneDocument(file, (document) => asBenchRecord(document)), file),
      );
    } catch (error) {
      const where = `fitted[${at}].${key}: ${printable(name, 200)}`;
      if (error instanceof ContentProblem) throw new ContentProblem(path, `${where}: ${error.message}`);
      if (error instanceof FileProblem) {
        const what = key === 'map' ? 'a wire map' : 'a bench record';
        throw new MissingMap(`${where}: ${unreadable(error)}; expected the path of ${what}, from the folder of the harness`);
      }
      throw error;
    }
  }
  try {
    return { harness, pickups: fitPickups(harness, maps) };
  } catch (error) {
    if (error instanceof FieldError) throw new ContentProblem(path, error.message);
    throw error;
  }
}

function unreadable({ code }: FileProblem): string {
  if (code === 'EISDIR') return 'this is a folder';
  return code === 'ENOENT' || code === 'ENOTDIR' ? 'no such file' : `cannot be read (${printable(code, 60)})`;
}

/** A wire map and the colours that stand in it. */
export function mapWithColours(map: WireMapFile): MapWithColours {
  return { map, colours: new Map((map.clips ?? []).map(({ clip, colour }) => [clip, colour])) };
}

/** A bench record, solved. @param file - that it stands in @throws ContentProblem */
export function solveRecord(record: BenchRecord, file: string): MapWithColours {
  const logic = createLogic();
  try {
    const map = solveEvidence(logic, loadRecord(logic, record));
    return { map, colours: new Map(record.clips.map(({ clip, colour }) => [clip, colour])) };
  } catch (error) {
    if (error instanceof RefusedEvidence) throw new ContentProblem(file, error.message);
    throw error;
  }
}

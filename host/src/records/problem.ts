/** What SQLite says of the file of the records, worded for the user. */

/** The file of the records cannot be used; the message is the whole sentence but the file's name. */
export class StoreProblem extends Error {
  readonly path: string;
  /** The sentence without the advice, for a file that is not this computer's records; null when it has none. */
  readonly fault: string | null;
  /** What went wrong: what stands in the file, looking into it, writing to it, or that a server cannot be had. */
  readonly kind: 'content' | 'reading' | 'writing' | 'server';

  /** @param advice - what follows the message where the file is this computer's records */
  constructor(path: string, message: string, kind: StoreProblem['kind'], advice?: string) {
    super(advice === undefined ? message : `${message}${advice}`);
    this.name = 'StoreProblem';
    this.path = path;
    this.fault = advice === undefined ? null : message;
    this.kind = kind;
  }
}

/** Primary result codes that a user can do something about; the extended ones hold them in their low byte (sqlite.org/rescode.html). */
const SQLITE = {
  permission: 3, busy: 5, locked: 6, readOnly: 8, ioError: 10, corrupt: 11, full: 13, cannotOpen: 14, notADatabase: 26,
} as const;

const CONTENT = {
  // A log that stays behind would be taken for that of the next file of this name.
  damaged: ['is damaged', '; move it away, with the file beside it that ends in -wal if there is one, and then restore a copy or start again'],
  noDatabase: ['holds no records of tapstone', '; expected its database. Move the file away and start again'],
  foreign: ['is the database of another program', '; move the file away and start again'],
} as const;
const NOT_PERMITTED = 'change the permissions of the file and its folder';

/** Sentences after the file's name, by the primary code. */
const SENTENCE: ReadonlyMap<number, (use: 'keep' | 'look') => string> = new Map<number, (use: 'keep' | 'look') => string>([
  [SQLITE.permission, (use) => `${cannot(use)}; ${NOT_PERMITTED}`],
  [SQLITE.busy, () => 'is in use by another program that does not let go of it; end that program'],
  [SQLITE.locked, () => 'is in use by another program that does not let go of it; end that program'],
  [SQLITE.readOnly, () => `cannot be written; ${NOT_PERMITTED}`],
  [SQLITE.ioError, (use) => `${cannot(use)}: the disk does not do what is asked of it; look whether it is full or failing`],
  [SQLITE.full, () => 'cannot be written: the disk is full'],
  [SQLITE.cannotOpen, (use) => `${cannot(use)}; ${NOT_PERMITTED}`],
]);

const WRITING: ReadonlySet<number> = new Set([SQLITE.readOnly, SQLITE.full]);

/** @param what - is wrong with what stands in the file */
export function contentProblem(path: string, what: keyof typeof CONTENT): StoreProblem {
  const [fault, advice] = CONTENT[what];
  return new StoreProblem(path, fault, 'content', advice);
}

function cannot(use: 'keep' | 'look'): string {
  return use === 'keep' ? 'cannot be opened for writing' : 'cannot be read';
}

/** The primary code of an error of SQLite, or null for any other. */
function primaryCode(error: unknown): number | null {
  const code = (error as { errcode?: unknown } | null)?.errcode;
  return typeof code === 'number' ? code & 0xff : null;
}

/** Whether another program holds the file just now. */
export function isBusy(error: unknown): boolean {
  const code = primaryCode(error);
  return code === SQLITE.busy || code === SQLITE.locked;
}

/** @param error - whatever was thrown @param use - what was tried @returns what it means to the user, or the error itself */
export function storeProblem(path: string, error: unknown, use: 'keep' | 'look'): unknown {
  const code = primaryCode(error);
  if (code === SQLITE.corrupt) return contentProblem(path, 'damaged');
  if (code === SQLITE.notADatabase) return contentProblem(path, 'noDatabase');
  const sentence = code === null ? undefined : SENTENCE.get(code);
  if (code === null || sentence === undefined) return error;
  const kind = WRITING.has(code) || use === 'keep' ? 'writing' : 'reading';
  return new StoreProblem(path, sentence(use), kind);
}

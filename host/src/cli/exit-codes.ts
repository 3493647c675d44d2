/**
 * Exit codes of the program, few and documented in the help.
 * The numbers are those of BSD's `sysexits.h`; what each means here is this table alone.
 */
export const EXIT = {
  /** Done, whatever the verdict. */
  done: 0,
  /** The command line is not understood. */
  usage: 64,
  /** A file's content is refused; with several records: at least one was refused. */
  badContent: 65,
  /** A file does not exist, is a folder or may not be read; a number, test or lot that is not kept. */
  noInput: 66,
  /** No tester or no server, or it does not answer, or a part that the command needs is not installed; `check` found something wrong. */
  unavailable: 69,
  /** A fault of the program itself. */
  internal: 70,
  /** A result could not be written. */
  cannotWrite: 74,
} as const;

export type ExitCode = (typeof EXIT)[keyof typeof EXIT];

/** The lines of the help that document them. */
export const EXIT_HELP =
  'Exit: 0 done, whatever the verdict; 64 usage; 65 bad content (of some records);\n' +
  '  66 no such file, number, test or lot; 69 no tester, no records server, no\n' +
  '  printing command or too old a Node.js; 70 our bug; 74 cannot write';

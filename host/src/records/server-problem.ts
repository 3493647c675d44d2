/** What a server of the stock, or the way to it, says, worded for the user. */
import { printable } from '../text/printable.ts';
import { StoreProblem } from './problem.ts';

/** Sentences behind the server's name, by SQLSTATE (PostgreSQL, appendix A) or the system's code. */
const SENTENCE: ReadonlyMap<string, string> = new Map([
  ['28P01', 'does not take this password; it is looked for in PGPASSWORD and in the file ~/.pgpass'],
  ['28000', 'does not let this user in; look at the user in the address and at the server\'s pg_hba.conf'],
  ['3D000', 'has no database of this name; expected the one that "tapstone records prepare" was run on'],
  ['3F000', 'holds no stock yet; whoever owns the database runs "tapstone records prepare" once'],
  ['42P01', 'holds no stock yet; whoever owns the database runs "tapstone records prepare" once'],
  ['42501', 'does not permit this to this user; expected the rights that "tapstone records prepare --help" names'],
  ['53100', 'cannot keep anything: its disk is full'],
  ['53300', 'has no connection left; end other programs, or let it take more'],
  ['57014', 'takes too long for an answer'],
  ['ECONNREFUSED', 'does not answer; look whether it runs'],
  ['ECONNRESET', 'was lost'],
  ['EPIPE', 'was lost'],
  ['ENOENT', 'does not answer: there is no socket of this name; look whether it runs'],
  ['ENOTFOUND', 'is not known by this name; look at the address'],
  ['EAI_AGAIN', 'cannot be looked up just now; look at the network'],
  ['ETIMEDOUT', 'does not answer; look at the network'],
  ['EHOSTUNREACH', 'cannot be reached; look at the network'],
  ['ENETUNREACH', 'cannot be reached; look at the network'],
]);
/** Classes of SQLSTATE by which a server says good-bye: connection exception, operator intervention. */
const LOST = /^(08|57P)/;
const TLS = /^(ERR_TLS|ERR_SSL|CERT_|SELF_SIGNED|DEPTH_ZERO|UNABLE_TO_)/;

/** The address without what nobody else may read. */
export function serverName(address: string): string {
  try {
    const { hostname, port, pathname, searchParams } = new URL(address);
    const host = searchParams.get('host') ?? (hostname === '' ? 'this computer' : `${hostname}${port === '' ? '' : `:${port}`}`);
    return `the server of the records (${printable(`${host}${pathname}`, 100)})`;
  } catch {
    return 'the server of the records';
  }
}

function codeOf(error: unknown): string {
  const code = (error as { code?: unknown } | null)?.code;
  return typeof code === 'string' ? code : '';
}

/** Two programs were in each other's way, and another try may do: a unique value, a serialization failure, a deadlock. */
export function mayTryAgain(error: unknown): boolean {
  return ['23505', '40001', '40P01'].includes(codeOf(error));
}

/** Whether the connection is of no use any more. */
export function isLost(error: unknown): boolean {
  const code = codeOf(error);
  return LOST.test(code) || /^E[A-Z]+$/.test(code) || (code === '' && /terminat|not queryable|timeout|connection/i.test(messageOf(error)));
}

function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** @returns what it means to the user; an error of our own program stays itself */
export function serverProblem(name: string, error: unknown): unknown {
  if (error instanceof StoreProblem) return error;
  // A name with several addresses is tried at each.
  const first: unknown = error instanceof AggregateError ? error.errors[0] : error;
  const code = codeOf(first);
  const message = printable(messageOf(first), 120);
  const sentence = SENTENCE.get(code) ??
    (TLS.test(code) ? `cannot be trusted (${message}); set sslrootcert in the address to the file of its certificate` : undefined) ??
    (/does not support SSL/i.test(message) ? 'speaks no TLS, which the address asks for with sslmode' : undefined) ??
    (isLost(first) ? `does not answer (${message}); look whether it runs` : undefined) ??
    (/^[0-9A-Z]{5}$/.test(code) ? `refuses (${code}: ${message})` : undefined);
  return sentence === undefined ? error : new StoreProblem(name, sentence, 'server');
}

/** What this program's module makes of a record. */
import { loadRecord } from '../evidence/load-record.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { createLogic } from '../logic/module.ts';
import type { WireMap } from '../wiremap/wiremap.ts';

/** @returns a function that solves one record after the other; it throws RefusedEvidence */
export function recordSolver(): (record: BenchRecord) => WireMap {
  const logic = createLogic();
  return (record) => solveEvidence(logic, loadRecord(logic, record));
}

/** Solves a bench record in this process, the way the program does. */
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { solveEvidence } from '../../host/src/evidence/read-result.ts';
import type { BenchRecord } from '../../host/src/files/bench-record.ts';
import type { Logic } from '../../host/src/logic/module.ts';
import type { WireMap } from '../../host/src/wiremap/wiremap.ts';

/** @returns the wire map @throws RefusedEvidence when the module does not take the record */
export function solveRecord(logic: Logic, record: BenchRecord): WireMap {
  return solveEvidence(logic, loadRecord(logic, record));
}

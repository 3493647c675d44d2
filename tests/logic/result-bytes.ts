// Prints one hash over every evidence and result byte of a small seeded lot of records. Run by each compiler of the engine:
//   node tests/logic/result-bytes.ts
import { createHash } from 'node:crypto';
import { loadRecord } from '../../host/src/evidence/load-record.ts';
import { EVIDENCE, EVIDENCE_bytes, RESULT, RESULT_bytes } from '../../host/src/logic/layout.generated.ts';
import { createLogic } from '../../host/src/logic/module.ts';
import { inventPickup } from '../lots/generator.ts';
import { STYLES, writeRecord } from '../lots/synthetic-record.ts';
import { truthOf } from '../lots/truth.ts';

const SEED = 0x7a9e;
const COUNT = 60;

const logic = createLogic();
const hash = createHash('sha256');
for (let number = 0; number < COUNT; number += 1) {
  const one = inventPickup(SEED, number);
  const { record } = writeRecord(one, truthOf(one.pickup), STYLES[number % STYLES.length], SEED);
  loadRecord(logic, record);
  logic.calls.solve();
  hash.update(logic.bytes.subarray(EVIDENCE, EVIDENCE + EVIDENCE_bytes));
  hash.update(logic.bytes.subarray(RESULT, RESULT + RESULT_bytes));
}
process.stdout.write(`${JSON.stringify({ records: COUNT, sha256: hash.digest('hex') })}\n`);

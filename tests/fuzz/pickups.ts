/** Pickup files into their reader: refused in one sentence, or good enough to be put on the virtual bench. */
import { readdirSync, readFileSync } from 'node:fs';
import { examplePickup } from '../../host/src/files/example-files.ts';
import { FieldError } from '../../host/src/files/field-walk.ts';
import { parseJson, SyntaxFault } from '../../host/src/files/parse.ts';
import { asPickup } from '../../host/src/pickup/pickup-file.ts';
import { BoardTwin } from '../../host/src/virtual-bench/board-twin.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import type { Pickup } from '../../host/src/pickup/pickup.ts';
import { pick, spoilBytes, spoilDocument } from './chance.ts';
import { FOUND, type Fuzzer } from './fuzzer.ts';

let bases: readonly string[] | null = null;

function basePickups(): readonly string[] {
  bases ??= [
    JSON.stringify(examplePickup()),
    ...demoLot.map((pickup) => JSON.stringify(pickup)),
    ...readdirSync(FOUND).filter((name) => name.endsWith('.pickup.json')).sort().map((name) => readFileSync(`${FOUND}${name}`, 'utf8')),
  ];
  return bases;
}

export const pickupFuzzer: Fuzzer = {
  what: 'pickups',
  step_bytes: 1,
  ending: '.pickup',
  draw(chance) {
    const document: unknown = JSON.parse(pick(chance, basePickups()));
    for (let left = chance.below(3); left >= 0; left -= 1) spoilDocument(chance, document);
    const bytes = Buffer.from(JSON.stringify(document));
    return chance.unit() < 0.8 ? bytes : spoilBytes(chance, bytes, 1 + chance.below(3));
  },
  async feed(bytes) {
    let pickup: Pickup;
    try {
      pickup = asPickup(parseJson(bytes));
    } catch (error) {
      if (!(error instanceof FieldError || error instanceof SyntaxFault)) throw error;
      if (error.message === '' || /[\p{Cc}\p{Cf}]/u.test(error.message)) throw new Error(`no sentence for a terminal: ${error.message}`);
      return;
    }
    const twin = new BoardTwin({ pickup, seed: 1 });
    await twin.close();
  },
};

/** No pickup of ours carries colours that could be taken for a maker's. */
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { examplePickup, exampleRecord } from '../../host/src/files/example-files.ts';
import { demoLot } from '../../host/src/virtual-bench/demo-lot.ts';
import { inventPickup } from '../lots/generator.ts';
import { ownColours, pickupsIn, tellingColours } from './own-colours.ts';
import { quietPickup } from '../physics/quiet-pickup.ts';
import { readTree } from './tidy-rules.ts';

const tree = readTree(fileURLToPath(new URL('../..', import.meta.url)));

/** Pickups and records of the repository: whole files, and one JSON text a line. */
const documents = tree
  .filter(({ path }) => /\.(pickup|bench|wiremap|harness)\.jsonl?$/.test(path))
  .flatMap(({ path, text }) => (path.endsWith('l') ? text.trim().split('\n') : [text])
    .map((json) => ({ path, document: JSON.parse(json) as unknown })));

/** Which pickups have two of the four colours, in words; empty when none has. */
function worthChanging(named: readonly { readonly path: string; readonly document: unknown }[]): string[] {
  return named.flatMap(({ path, document }) => pickupsIn(document)
    .filter((colours) => tellingColours(colours).length > 1)
    .map((colours) => `${path}: ${colours.join(' ')}; one of red, white, black and green at most, such as BU YE GY VT PK TQ BN OG beside it`));
}

describe('red, white, black and green never stand together in a pickup of ours', () => {
  it('in no file of a pickup, a record or a harness', () => {
    expect(documents.length).toBeGreaterThan(20);
    expect(documents.flatMap(({ document }) => pickupsIn(document)).length).toBeGreaterThan(15);
    expect(worthChanging(documents)).toEqual([]);
  });

  it('in no pickup of the demo, nor in those that tests are made from', () => {
    const named = [...demoLot, examplePickup(), exampleRecord(), quietPickup([demoLot[0]!.coils[0]!])];
    expect(worthChanging(named.map((document, i) => ({ path: `pickup ${i}`, document })))).toEqual([]);
  });

  it('in none that is written into a document or a source', () => {
    const written = tree.filter(({ path }) => /\.(tsx?|mjs|md|py)$/.test(path)).map(({ path, text }) => ({
      path,
      document: [...text.matchAll(/\bcolour["']?: ?["']([A-Z]{2,4})["']/g)].map(([, colour]) => ({ colour })),
    }));
    expect(written.flatMap(({ document }) => document).length).toBeGreaterThan(20);
    expect(worthChanging(written.filter(({ path }) => path !== 'tests/house/own-colours.test.ts'))).toEqual([]);
  });

  it('in none that a lot draws, of 300 seeds', () => {
    const drawn = Array.from({ length: 3000 }, (_, i) => {
      const { pickup } = inventPickup(1 + (i % 300), i);
      return { path: `seed ${1 + (i % 300)}, number ${i}`, document: pickup };
    });
    expect(worthChanging(drawn)).toEqual([]);
    // The four are drawn all the same, each alone.
    const met = new Set(drawn.flatMap(({ document }) => tellingColours(document.leads.map(({ colour }) => colour))));
    expect([...met].sort()).toEqual(['BK', 'GN', 'RD', 'WH']);
  });
});

describe('the rule', () => {
  it.each([
    ['two coils of four', [{ clips: ['VT', 'WH', 'GN', 'BK', 'BARE'].map((colour) => ({ colour })) }]],
    ['one coil of two', { leads: [{ colour: 'WH' }, { colour: 'BK' }] }],
    ['a wire of two colours', [{ leads: [{ colour: 'RDBU' }, { colour: 'GNYE' }] }]],
  ])('finds %s', (_, document) => {
    expect(worthChanging([{ path: 'a', document }])).toHaveLength(1);
  });

  it('lets one of them stand, twice too, and a wire whose second colour is one', () => {
    expect(tellingColours(['RD', 'RDBU', 'BARE', 'YE', undefined, 'GYWH'])).toEqual(['RD']);
  });

  it('keeps of a shuffled list the first of the four, and all the others', () => {
    expect(ownColours(['BU', 'GNYE', 'WH', 'PK', 'BK', 'GN'])).toEqual(['BU', 'GNYE', 'PK', 'GN']);
  });
});

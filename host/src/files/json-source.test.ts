import { describe, expect, it } from 'vitest';
import type { ByteSource } from '../edge/files.ts';
import { jsonFault } from './json-fault.ts';
import { portions, records } from './json-source.ts';
import { RECORD_MOST_bytes } from './limits.ts';
import { parseJson } from './parse.ts';

/** A source that hands out a text in pieces of some bytes. */
function inPieces(text: string, size_bytes: number): ByteSource {
  const bytes = Buffer.from(text);
  let at = 0;
  return {
    size_bytes: bytes.length,
    async next() {
      if (at >= bytes.length) return null;
      at += size_bytes;
      return new Uint8Array(bytes.subarray(at - size_bytes, at));
    },
    async close() {},
  };
}

async function cut(source: ByteSource): Promise<[number | null, string][]> {
  const found: [number | null, string][] = [];
  for await (const portion of portions(source)) {
    if (portion.kind === 'refusal') found.push([portion.line, `refused: ${portion.message}`]);
    else
      for (const { bytes, line } of records(portion))
        found.push([line, Buffer.from(bytes).toString().trim()]);
  }
  return found;
}

const A = '{"format":"bench/1","clips":[{"clip":1}]}';
const B = '{"format":"bench/1","title":"}{\\"{"}';
const PRETTY = JSON.stringify(JSON.parse(A), null, 2);

describe('what is gathered from small pieces', () => {
  it('is one record, and its bytes are all that is kept', async () => {
    const text = JSON.stringify({ mine: 'x'.repeat(3 << 20) });
    const found = [];
    for await (const portion of portions(inPieces(text, 8))) found.push(portion);
    expect(found).toHaveLength(1);
    const [batch] = found;
    if (batch?.kind !== 'batch') throw new Error('it is refused');
    expect(Buffer.from(batch.bytes).toString()).toBe(text);
    expect(batch.bytes.buffer.byteLength).toBeLessThanOrEqual(2 * text.length);
  });

  it('is refused beyond the limit that is given', async () => {
    const found = [];
    for await (const portion of portions(inPieces(' '.repeat(3 << 20), 1 << 16), 2)) found.push(portion);
    expect(found).toEqual([{ kind: 'refusal', line: null, message: 'more than 2 MiB in one record; expected at most 2 MiB' }]);
  });
});

describe('one document or JSON lines', () => {
  const cases: [string, string, [number | null, string][]][] = [
    ['one line', A, [[null, A]]],
    ['one line and an end of line', `${A}\n`, [[null, A]]],
    ['a document over many lines', PRETTY, [[null, PRETTY]]],
    [
      'two lines',
      `${A}\n${B}\n`,
      [
        [1, A],
        [2, B],
      ],
    ],
    [
      'two lines, the last without an end of line',
      `${A}\r\n${B}`,
      [
        [1, A],
        [2, B],
      ],
    ],
    ['a quoted bracket before a spoilt line', `${B}\n{`, [[1, B], [2, '{']]],
    [
      'blank lines between',
      `\n${A}\n\n  \n${B}\n\n`,
      [
        [2, A],
        [5, B],
      ],
    ],
    [
      'a spoilt line between',
      `${A}\n{"a":\n${B}\n`,
      [
        [1, A],
        [2, '{"a":'],
        [3, B],
      ],
    ],
    [
      'a spoilt first line',
      `{"a":\n${B}\n${A}`,
      [
        [1, '{"a":'],
        [2, B],
        [3, A],
      ],
    ],
    ['a text that is no JSON, over many lines', 'hello\nworld\n', [[null, 'hello\nworld']]],
    ['nothing', '', [[null, '']]],
    [
      'a document whose second line is an object in a list',
      '{"clips":[\n{"clip":1}\n]}',
      [[null, '{"clips":[\n{"clip":1}\n]}']],
    ],
  ];
  for (const size of [1, 7, 1 << 20]) {
    it.each(cases)(`cuts %s, arriving ${size} bytes at a time`, async (_, text, expected) => {
      expect(await cut(inPieces(text, size))).toEqual(expected);
    });
  }

  it('counts lines across batches', async () => {
    const many = await cut(inPieces(`${A}\n`.repeat(60_000), 1 << 16));
    expect(many.map(([line]) => line)).toEqual(many.map((_, index) => index + 1));
    expect(many).toHaveLength(60_000);
  });

  it('skips a line beyond the limit without keeping it, and goes on', async () => {
    const long = RECORD_MOST_bytes + 10;
    const chunk = Buffer.alloc(1 << 20, 0x20);
    let given = 0;
    const source: ByteSource = {
      size_bytes: null,
      async next() {
        if (given === 0) {
          given = 1;
          return Buffer.from(`${A}\n{`);
        }
        if (given > long) {
          if (given === Infinity) return null;
          given = Infinity;
          return Buffer.from(`}\n${B}\n`);
        }
        given += chunk.length;
        return new Uint8Array(chunk);
      },
      async close() {},
    };
    expect(await cut(source)).toEqual([
      [1, A],
      [2, 'refused: more than 128 MiB in one record; expected at most 128 MiB'],
      [3, B],
    ]);
  });

  it('refuses one document beyond the limit and stops reading', async () => {
    let chunks = 0;
    const source: ByteSource = {
      size_bytes: null,
      async next() {
        chunks += 1;
        return Buffer.alloc(1 << 20, chunks === 1 ? '[\n' : '1,');
      },
      async close() {},
    };
    expect(await cut(source)).toEqual([
      [null, 'refused: more than 128 MiB in one record; expected at most 128 MiB'],
    ]);
    expect(chunks).toBeLessThan(140);
  });
});

describe('bytes to JSON', () => {
  function fault(bytes: Uint8Array | string): string {
    try {
      parseJson(Buffer.from(bytes as string));
    } catch (error) {
      return (error as Error).message;
    }
    return 'taken';
  }

  it('accepts a byte order mark', () => {
    expect(parseJson(Buffer.from('\ufeff{"a":1}'))).toEqual({ a: 1 });
  });

  const cases: [string, string | number[], string][] = [
    ['nothing', '', 'empty; expected a JSON object'],
    ['blanks', ' \n', 'empty; expected a JSON object'],
    [
      'a text cut short',
      '{"a":[1,',
      'a[1]: the text ends here, at character 8; expected a value (is the file cut short?)',
    ],
    [
      'a text cut short in a word',
      '{"a":"x',
      'a: the text ends here, at character 7; expected the end of a text (is the file cut short?)',
    ],
    [
      'NaN',
      '{"resistances":[{"ohm": NaN}]}',
      'resistances[0].ohm: "NaN" at line 1, column 25 is not JSON; expected a value',
    ],
    [
      '-Infinity',
      '{"a":-Infinity}',
      'a: "-Infinity" at line 1, column 6 is not JSON; expected a value',
    ],
    [
      'a comma too many',
      '{"a":1,}',
      '"}" at line 1, column 8 is not JSON; expected a field name in double quotes',
    ],
    [
      'a comma too few',
      '{"a":1\n"b":2}',
      "a: '\"' at line 2, column 1 is not JSON; expected a comma or }",
    ],
    [
      'a control character in a text',
      '{"title":"a\x1b[2J"}',
      'title: "\\x1b" at line 1, column 12 is not JSON; expected \\u001b for this character',
    ],
    [
      'an escape that is none',
      '{"title":"a\\qb"}',
      'title: "\\qb" at line 1, column 12 is not JSON; expected an escape such as \\n or \\u001b',
    ],
    [
      'something after it',
      '{} x',
      '"x" at line 1, column 4 is not JSON; expected nothing after the record',
    ],
    [
      'Latin-1',
      [0x7b, 0x22, 0xe4, 0x22, 0x7d],
      'byte 2 is 0xe4, which is not UTF-8; expected JSON in UTF-8',
    ],
    [
      'UTF-16',
      [0xff, 0xfe, 0x7b, 0x00],
      'byte 0 is 0xff, which is not UTF-8; expected JSON in UTF-8',
    ],
    [
      'a character cut in two',
      [0x22, 0x61, 0xc3],
      'byte 2 is 0xc3, which is not UTF-8; expected JSON in UTF-8',
    ],
    [
      'a million open lists',
      '['.repeat(1_000_000),
      'more than 200000 lists and objects in one record; expected at most 200000',
    ],
  ];
  it.each(cases)('says in one sentence what is wrong with %s', (_, bytes, sentence) => {
    expect(fault(typeof bytes === 'string' ? bytes : Uint8Array.from(bytes))).toBe(sentence);
  });

  const LONG = 9 << 20;
  const long: [string, () => string, string][] = [
    ['a control character', () => `{"mine":"${'x'.repeat(LONG)}\x01"}`, 'mine: "\\x01" at line 1, column 9437194 is not JSON; expected \\u0001 for this character'],
    ['a bad escape', () => `{"mine":"${'x'.repeat(LONG)}\\q"}`, 'mine: "\\q" at line 1, column 9437194 is not JSON; expected an escape such as \\n or \\u001b'],
    ['no closing quote', () => `{"mine":"${'x'.repeat(LONG)}`, 'mine: the text ends here, at character 9437193; expected the end of a text (is the file cut short?)'],
    ['a backslash at its end', () => `{"mine":"${'\\n'.repeat(LONG)}\\`, 'mine: the text ends here, at character 18874378; expected the end of a text (is the file cut short?)'],
    ['many lines before it', () => `{"mine":[${'\n'.repeat(LONG)}x`, 'mine[0]: "x" at line 9437185, column 1 is not JSON; expected a value'],
    ['many digits before it', () => `{"mine":${'1'.repeat(LONG)}x}`, 'mine: "x" at line 1, column 9437193 is not JSON; expected a comma or }'],
  ];
  it.each(long)('finds the fault in 9 MB of text: %s', (_, text, sentence) => {
    expect(fault(text())).toBe(sentence);
  });

  it('refuses millions of field names before they are read, and counts neither these nor brackets in a text', () => {
    let names = '{"a":0';
    for (let n = 0; n < 600_000; n += 1) names += `,"${n.toString(36)}":0`;
    expect(fault(`${names}}`)).toBe('more than 500000 fields in one record; expected at most 500000');
    const text = JSON.stringify({ mine: `${':['.repeat(600_000)}"` });
    expect(parseJson(Buffer.from(text))).toEqual(JSON.parse(text));
  });

  it('finds the fault in a text nested 100,000 deep', () => {
    expect(fault(`${'['.repeat(100_000)}x`)).toMatch(
      /"x" at line 1, column 100001 is not JSON; expected a value$/,
    );
    expect(jsonFault('['.repeat(100_000)).length).toBeLessThan(1000);
  });
});

/** A session as it is typed: one reading at a time, questions back, back, correct and skip. */
import { beforeEach, describe, expect, it } from 'vitest';
import { asBenchRecord } from '../files/bench-file.ts';
import type { BenchRecord } from '../files/bench-record.ts';
import { loadRecord } from '../evidence/load-record.ts';
import { solveEvidence } from '../evidence/read-result.ts';
import { createLogic } from '../logic/module.ts';
import type { WireMap } from '../wiremap/wiremap.ts';
import { isSameAsk, type Ask } from './reading.ts';
import { EntrySession, type Prompt } from './session.ts';

const logic = createLogic();
const solve = (record: BenchRecord): WireMap => solveEvidence(logic, loadRecord(logic, record));

/** What a person would type of a pickup: ohms by pair (missing: over range), the plus of each coil by place, poles. */
interface Pickup {
  readonly leads: string;
  readonly places: string;
  readonly ohms: Readonly<Record<string, string>>;
  readonly swings: Readonly<Record<string, Readonly<Record<string, string>>>>;
  readonly poles: Readonly<Record<string, string>>;
}

function answer(pickup: Pickup, ask: Ask): string {
  if (ask.kind === 'ohms') return pickup.ohms[`${ask.a}-${ask.b}`] ?? 'OL';
  if (ask.kind === 'compass') return pickup.poles[ask.at]!;
  const { plus, minus } = ask;
  const here = pickup.swings[ask.at] ?? {};
  if (here[`${plus}-${minus}`] !== undefined) return here[`${plus}-${minus}`]!;
  const turned = here[`${minus}-${plus}`];
  return turned === undefined || turned.startsWith('0') ? '0' : `${turned.startsWith('+') ? '-' : '+'}${turned.slice(1)}`;
}

/** Answers until nothing is asked for; a question back is answered with "keep". */
function finish(session: EntrySession, pickup: Pickup, doubts: string[] = []): void {
  for (let turn = 0; session.prompt.kind !== 'done'; turn++) {
    expect(turn).toBeLessThan(100);
    const { prompt } = session;
    if (prompt.kind === 'doubt') doubts.push(prompt.doubt.text);
    const line = prompt.kind === 'reading' ? answer(pickup, prompt.ask)
      : prompt.kind === 'leads' ? pickup.leads : prompt.kind === 'places' ? pickup.places : 'n';
    expect(session.type(line).wrong).toBeNull();
  }
}

const PAIR: Pickup = {
  leads: 'PK OG VT TQ BARE', places: '2', ohms: { '1-3': '4.1k', '2-4': '4k25' },
  swings: { upper: { '1-3': '+' }, lower: { '4-2': '+' } }, poles: { upper: 's', lower: 'n' },
};
const asked = (prompt: Prompt): Ask => {
  if (prompt.kind !== 'reading') throw new Error(`asked for ${prompt.kind}`);
  return prompt.ask;
};

let session: EntrySession;
beforeEach(() => { session = new EntrySession(solve); });

describe('a session', () => {
  it('finds two coils and a bare wire with fewer readings than there are, in a record that the format takes', () => {
    const doubts: string[] = [];
    finish(session, PAIR, doubts);
    expect(session.map).toMatchObject({
      verdict: 'good', chassis: [5],
      coils: [{ ends: [1, 3], plus: 1, place: 'upper', pole: 'S' }, { ends: [2, 4], plus: 4, place: 'lower', pole: 'N' }],
    });
    expect(session.map!.coils.every(({ confidence }) => confidence! >= 0.99)).toBe(true);
    expect(doubts).toEqual([]);
    const record = asBenchRecord(JSON.parse(JSON.stringify(session.record('2026-03-14T10:22:31Z'))));
    expect(record.tester).toBeUndefined();
    expect(record.resistances.length).toBeLessThan(10);
    expect(solve(record)).toEqual(session.map);
  });
  it('the mirrored pickup gives the mirrored map', () => {
    const turned = { ...PAIR, swings: { upper: { '3-1': '+' }, lower: { '2-4': '+' } }, poles: { upper: 'n', lower: 's' } };
    finish(session, turned);
    expect(session.map!.coils.map(({ plus, pole }) => [plus, pole])).toEqual([[3, 'N'], [2, 'S']]);
  });
  it('a frame that is tied to a lead is told as that', () => {
    finish(session, { ...PAIR, ohms: { ...PAIR.ohms, '1-5': '0.3', '3-5': '4.1k' } });
    expect(session.map).toMatchObject({ verdict: 'good', chassis: [1, 5], joined: [[1, 5]] });
  });
  it('equal poles are asked about once, kept, and told', () => {
    const doubts: string[] = [];
    finish(session, { ...PAIR, poles: { upper: 's', lower: 's' } }, doubts);
    expect(doubts).toHaveLength(1);
    expect(doubts[0]).toContain('coils beside each other mostly differ');
    expect(session.map!.coils.map(({ pole }) => pole)).toEqual(['S', 'S']);
  });
  it('two leads alone take ohms, two swings and the compass', () => {
    finish(session, { leads: '2', places: '1', ohms: { '1-2': '7,9k' }, swings: { single: { '2-1': '+' } }, poles: { single: 'n' } });
    expect(session.answers.map(({ ask }) => ask.kind)).toEqual(['ohms', 'swing', 'swing', 'compass']);
    expect(session.map).toMatchObject({ verdict: 'good', coils: [{ plus: 2, pole: 'N', ohm: 7900 }] });
  });
  it.each(['', '9'])('looks at the other coil before it believes what may be a neighbour\'s share (size "%s")', (share) => {
    const own = share === '' ? '' : '80';
    const turned: Pickup = {
      leads: '4', places: '2', ohms: { '1-2': '4.13k', '3-4': '4.18k' }, poles: { upper: 'n', lower: 's' },
      swings: { upper: { '1-2': `+${share}`, '3-4': `-${own}` }, lower: { '1-2': `+${own}`, '3-4': `+${share}` } },
    };
    for (const line of ['4', '2', '4.13k', 'OL', '4.18k']) session.type(line);
    const looked = new Set<string>();
    while (session.prompt.kind === 'reading' && session.prompt.ask.kind === 'swing') {
      const { ask } = session.prompt;
      looked.add(`${ask.at} ${ask.plus}-${ask.minus}`);
      session.type(answer(turned, ask));
      // A person sees which of the two is the smaller.
      if ((session.prompt as Prompt).kind === 'doubt') session.type((ask.at === 'upper') === (ask.minus === 1) ? 'y' : 'n');
    }
    expect(looked.size).toBeGreaterThan(2);
    const found = session.map!.coils.map(({ plus }) => plus);
    if (share === '') expect([[1, null], [null, 4], [null, null], [1, 4]]).toContainEqual(found);
    else expect(found).toEqual([1, 4]);
  });
  it('an open coil of a pair is a fault, found by what stays still', () => {
    const doubts: string[] = [];
    finish(session, { ...PAIR, leads: 'PK OG VT TQ', ohms: { '1-3': '4.1k' }, swings: { upper: { '1-3': '+' } } }, doubts);
    expect(session.map).toMatchObject({ verdict: 'fault', findings: [{ kind: 'open', clips: [2, 4] }] });
    expect(doubts.filter((text) => text.startsWith('Nothing swings at lower'))).toHaveLength(1);
  });
  it('a coil that is bridged to the frame is a fault, and no swing is asked for any more that nobody needs', () => {
    finish(session, { leads: 'PK OG BARE', places: '1', ohms: { '1-2': '4.1k', '1-3': '1.61k', '2-3': '2.53k' }, swings: { single: { '1-2': '+' } }, poles: { single: 'n' } });
    expect(session.map).toMatchObject({ verdict: 'fault', findings: [{ kind: 'bridge' }] });
  });
  it('somebody who skips everything comes to an end, with nothing claimed', () => {
    session.type('PK OG VT TQ BARE GY');
    session.type('2');
    let skipped = 0;
    while (session.prompt.kind === 'reading') {
      expect(session.type('x').wrong).toBeNull();
      skipped++;
      expect(skipped).toBeLessThan(30);
    }
    expect(session.prompt.kind).toBe('done');
    expect(session.isEmpty).toBe(true);
    expect(session.map).toMatchObject({ verdict: 'unsure', coils: [] });
  });
  it('who skips only swings still has what the ohms tell, and no plus', () => {
    session.type('PK OG');
    session.type('1');
    session.type('8.1k');
    while (session.prompt.kind === 'reading') session.type(asked(session.prompt).kind === 'compass' ? 'n' : 'x');
    expect(session.map!.coils).toMatchObject([{ ends: [1, 2], plus: null, ohm: 8100 }]);
  });
});

describe('a question back', () => {
  const typed = (...lines: readonly string[]): string | null => {
    for (const line of lines) expect(session.type(line).wrong).toBeNull();
    return session.prompt.kind === 'doubt' ? session.prompt.doubt.text : null;
  };
  it('16 ohm for a whole pickup: is that 16 k? Yes takes 16 k', () => {
    expect(typed('2', '1', '16')).toBe('16 ohm is more than a joint and far too little for a coil: is that 16 k?');
    session.type('y');
    expect(session.answers[0]).toMatchObject({ value: { ohm: 16_000 } });
  });
  it('no keeps it, and another number is taken in its place', () => {
    typed('2', '1', '16', 'n');
    expect(session.answers[0]).toMatchObject({ value: { ohm: 16 } });
    session.type('b');
    typed('16', '15.8k');
    expect(session.answers[0]).toMatchObject({ value: { ohm: 15_800 } });
  });
  it('the third side of a triangle is asked back when it fits neither sum nor difference, and a digit that slipped is named', () => {
    typed('3', '2');
    const first = asked(session.prompt) as Extract<Ask, { kind: 'ohms' }>;
    typed('4.1k');
    typed('8.3k');
    const third = asked(session.prompt) as Extract<Ask, { kind: 'ohms' }>;
    expect([first.kind, third.kind]).toEqual(['ohms', 'ohms']);
    const text = typed('6.5k');
    expect(text).toMatch(/^With leads \d-\d [48]\.[13] k and \d-\d [48]\.[13] k, \d-\d should be /);
    expect(text).toMatch(/ (4\.2 k or 12\.4 k|12\.4 k or 4\.2 k), not 6\.5 k: read it again\?$/);
    expect(typed('42k')).toContain('is that 4.2 k?');
    typed('y');
    expect(session.answers[2]).toMatchObject({ value: { ohm: 4200 } });
    expect(session.prompt.kind).toBe('reading');
  });
  it('over range between leads that conduct by way of a third', () => {
    typed('3', '2', '4.1k', '8.3k');
    expect(typed('OL')).toMatch(/^Leads \d-\d and \d-\d conduct, so \d-\d should too: is a clip off/);
    session.type('y');
    expect(session.prompt).toMatchObject({ kind: 'reading' });
    expect(session.answers).toHaveLength(2);
  });
  it('a body between the tips, and a decimal point that slipped', () => {
    expect(typed('2', '1', '1.2M')).toContain('fingers on both tips');
    expect(typed('82k')).toContain('is that 8.2 k?');
    expect(typed('500')).toContain('little for a coil');
  });
  it('a swing that went the other way before, and volts that are millivolts', () => {
    typed('2', '1', '8.1k', '+');
    expect(asked(session.prompt).kind).toBe('swing');
    expect(typed('-')).toContain('went the other way at single before');
    typed('y');
    expect(typed('+66V')).toBe('66 V is far more than steel makes: is that 66 mV?');
    typed('y');
    expect(session.answers.at(-1)).toMatchObject({ value: { swing: 'positive', peak_V: 0.066 } });
  });
  it('a share of the neighbour is not taken for a swing', () => {
    typed('PK OG VT TQ', '2');
    while (asked(session.prompt).kind === 'ohms') typed(answer(PAIR, asked(session.prompt)));
    const first = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    typed('+60');
    let other = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    while (other.at !== first.at || isSameAsk(other, first)) {
      typed('x');
      other = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    }
    expect(typed('+5')).toMatch(/^5 mV beside 60 mV of \d-\d is the neighbour's share: note it as 0\?$/);
    typed('y');
    expect(session.answers.at(-1)).toMatchObject({ value: { swing: 'none' } });
  });
  it('a coil that swung at the other place is asked about, and a lone 1 of a meter', () => {
    typed('PK OG VT TQ', '2');
    expect(typed('1')).toBe('A lone 1 at the left of a digital meter is over range: is it that?');
    typed('y');
    expect(session.answers[0]).toMatchObject({ value: { ohm: null, above_ohm: 2e6 } });
    while (asked(session.prompt).kind === 'ohms') typed(answer(PAIR, asked(session.prompt)));
    const first = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    typed('+');
    let other = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    while (other.at === first.at || other.plus !== first.plus) {
      typed('x');
      other = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    }
    expect(typed('-')).toContain(`swung at ${first.at} too, and a coil sits in one place`);
    typed('n');
    expect(session.answers.at(-1)).toMatchObject({ value: { swing: 'negative' } });
  });
  it('of one coil that swung at two places it is the far smaller swing that is a share, be it the earlier one and noted twice', () => {
    typed('PK OG VT TQ', '2');
    while (asked(session.prompt).kind === 'ohms') typed(answer(PAIR, asked(session.prompt)));
    const first = asked(session.prompt) as Extract<Ask, { kind: 'swing' }>;
    const goTo = (isWanted: (ask: Extract<Ask, { kind: 'swing' }>) => boolean): void => {
      while (!isWanted(asked(session.prompt) as typeof first)) typed('x');
    };
    typed('-7');
    goTo((ask) => ask.at !== first.at && ask.plus === first.plus);
    expect(typed('+70')).toBe(`Leads ${first.minus}-${first.plus} show 70 mV at lower and 7 mV at upper, and a coil sits in one place: ` +
      'are those 7 mV a neighbour\'s small share, to be noted as 0?');
    typed('y');
    const of = (at: string): unknown[] => session.answers.flatMap(({ ask, value }) =>
      (ask.kind === 'swing' && ask.at === at && ask.plus === first.plus && value !== null ? [value] : []));
    expect(of('upper')).toEqual([{ swing: 'none' }]);
    expect(of('lower')).toEqual([{ swing: 'positive', peak_V: 0.07 }]);
    // The other way round it is the one that was typed.
    session.type('c');
    session.type(String(session.answers.findIndex(({ ask }) => isSameAsk(ask, first)) + 1));
    expect(typed('-7')).toContain('is this a neighbour\'s small share, to be noted as 0?');
    typed('y');
    expect(of('upper')).toEqual([{ swing: 'none' }]);
    session.type('c');
    session.type(String(session.answers.findIndex(({ ask }) => isSameAsk(ask, first)) + 1));
    expect(typed('-60')).toContain('did the steel touch one coil alone? Look once more?');
  });
  it.each(['12.5', '79', '82', '99.9'])('%s ohm for a coil: kilohm forgotten?', (ohm) => {
    const kilo = Number(ohm) <= 80 ? `is that ${ohm} k?` : `and ${ohm} k is more than any winding has: read it again?`;
    expect(typed('2', '1', ohm)).toMatch(new RegExp(`^${ohm} ohm is more than a joint and far too little for a coil`));
    expect(session.prompt).toMatchObject({ doubt: { text: expect.stringContaining(kilo) } });
    session.type('y');
    expect(session.answers).toHaveLength(Number(ohm) <= 80 ? 1 : 0);
  });
  it('three readings that do not fit are all asked for again when they were kept, until one is found to have been a slip', () => {
    typed('3', '2', '8010', '8820', '16030', 'n');
    expect(session.map!.verdict).toBe('unsure');
    expect(asked(session.prompt)).toMatchObject({ kind: 'ohms', a: 1, b: 2, isAgain: true });
    expect(typed('8010')).toBeNull();
    expect(asked(session.prompt)).toMatchObject({ kind: 'ohms', a: 1, b: 3, isAgain: true });
    expect(typed('8020')).toBe('Leads 1-3 read 8.82 k before: was that a slip, to be noted no more? (No: it comes and goes.)');
    typed('y');
    expect(asked(session.prompt).kind).toBe('swing');
    expect(session.map!.findings).toEqual([]);
    expect(session.record().resistances.map(({ ohm }) => ohm)).toEqual([8010, 16030, 8010, 8020]);
  });
  it('read again the same each time, three that do not fit are what is there; and what comes and goes is told', () => {
    typed('3', '2', '8010', '8820', '16030', 'n', '8010', '8820', '16030');
    expect(session.prompt.kind).toBe('done');
    expect(session.map!.verdict).toBe('fault');
    for (let n = 0; n < 2; n++) session.type('b');
    typed('8020', 'n');
    expect(session.map!.findings).toContainEqual(expect.objectContaining({ kind: 'intermittent' }));
  });
  it('leads that conduct join a pair that read over range before: that one was the slip, unless both stay', () => {
    expect(typed('3', '2', 'OL', '8.2k', '8k')).toBe('Leads 1-3 and 2-3 conduct, so 1-2 should too, but it read over range before: ' +
      'was that a slip, to be noted no more? (No: both stay.)');
    typed('n');
    expect(session.answers.map(({ value }) => value)).toEqual([{ ohm: null, above_ohm: 2e6 }, { ohm: 8200 }, { ohm: 8000 }]);
    session.type('b');
    expect(typed('8k')).not.toBeNull();
    typed('y');
    expect(session.answers.map(({ value }) => value)).toEqual([null, { ohm: 8200 }, { ohm: 8000 }]);
    expect(session.map!.findings).toEqual([]);
  });
  it('a range that ends below what the other two have together is no slip', () => {
    expect(typed('3', '2', '>20k', '12k', '15.5k')).toBeNull();
  });
  it('less than what is left of another pair, which no contact inside brings about', () => {
    expect(typed('3', '2', '16.5k', '0.3', '4.1k')).toBe('With leads 1-2 16.5 k and 1-3 0.3 ohm, 2-3 has at least 16.5 k, not 4.1 k: read it again?');
    typed('16.6k');
    expect(session.answers[2]).toMatchObject({ value: { ohm: 16_600 } });
  });
  it('more than others have in a row, after one that was kept though it fits nothing likely', () => {
    expect(typed('4', '2', '6k', '4.1k', '16.5k', '16.5k')).toContain('should be');
    expect(typed('n', '30k')).toBe('With leads 1-3 4.1 k and 3-4 16.5 k, 1-4 can have no more than 20.6 k, not 30 k: read it again?');
  });
  it('a pair that is over range when it is read again is asked about by itself, not by the others', () => {
    typed('3', '2', '8010', '8820', '16030', 'n');
    expect(typed('OL')).toBe('Leads 1-2 read 8.01 k before: was that a slip, to be noted no more? (No: it comes and goes.)');
  });
  it('nothing that swings anywhere is asked about', () => {
    typed('2', '1', '8.1k');
    expect(typed('0')).toContain('Nothing swings at single: was it plain steel');
  });
});

describe('back and correct', () => {
  it('back asks the last reading again, and at last the leads', () => {
    for (const line of ['PK OG VT', '2', '4.1k', 'OL']) session.type(line);
    const second = session.answers[1]!.ask;
    session.type('b');
    expect(asked(session.prompt)).toEqual(second);
    expect(session.answers).toHaveLength(1);
    session.type('b');
    expect(session.answers).toHaveLength(0);
    session.type('b');
    expect(session.prompt.kind).toBe('places');
    session.type('b');
    expect(session.prompt.kind).toBe('leads');
    expect(session.type('b').wrong).toContain('first question');
  });
  it('a correction stands in the place of the reading, and what follows from it is planned anew', () => {
    finish(session, PAIR);
    const index = session.answers.findIndex(({ ask }) => ask.kind === 'swing' && ask.at === 'upper' && ask.plus + ask.minus === 4);
    const { ask } = session.answers[index]!;
    session.type('c');
    expect(session.prompt.kind).toBe('which');
    expect(session.type('99').wrong).toContain(`expected 1 to ${session.answers.length}`);
    session.type(String(index + 1));
    expect(session.prompt).toEqual({ kind: 'reading', ask, of: index });
    session.type('b');
    expect(session.prompt.kind).toBe('done');
    session.type('c');
    session.type(String(index + 1));
    session.type(answer(PAIR, ask) === '+' ? '-' : '+');
    // It disagrees with the repeat, so it is asked about; kept, one coil is in doubt and is looked at again.
    session.type('n');
    expect(session.answers[index]!.ask).toEqual(ask);
    expect(session.map!.coils[0]!.confidence ?? 0).toBeLessThan(0.99);
  });
  it('refuses what is no reading with one sentence, and notes nothing', () => {
    for (const line of ['3', '1']) session.type(line);
    expect(session.type('abc').wrong).toBe('"abc" is no resistance; expected ohms such as 4.13k, 4k13, 7,9k, 3.9M or 0.4, or OL for over range');
    expect(session.type('').wrong).toContain('is no resistance');
    expect(session.answers).toHaveLength(0);
    expect(session.type('c').wrong).toContain('nothing to correct');
    expect(session.type('?')).toMatchObject({ wantsHelp: true, wrong: null });
    expect(session.type('q')).toMatchObject({ ended: true });
  });
});

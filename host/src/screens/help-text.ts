/** What `?` shows: what each key of a screen does, how signs are meant, and what can hurt. */
import { HOW, READING_CAUTIONS } from '../entry/words.ts';
import { CAUTIONS } from '../text/cautions.ts';

export type HelpTopic = 'bench' | 'new lot' | 'lot' | 'stock' | 'pickup' | 'entry' | 'harnesses' | 'harness' | 'jack' | 'settings';

interface Help {
  readonly title: string;
  readonly keys: readonly (readonly [string, string])[];
  readonly more: readonly string[];
}

/** By the conventions of the file formats; the same two lines on every screen. */
export const SIGN_LINES: readonly string[] = [
  "Plus goes positive as steel touches its coil's pole; minus is the other end.",
  "N, S: the pole at the coil's face; the north end of a compass is drawn to S.",
];

/** Said where something is clipped on. */
const LIVE = 'The tester is for pickups out of the instrument, or at the jack of one whose cable is pulled out: for voltages below 15 V only, never for mains.';

const BACK = ['esc', 'back to the screen before; ctrl-c quits from everywhere'] as const;

const HELPS: Readonly<Record<HelpTopic, Help>> = {
  bench: {
    title: 'the bench',
    keys: [
      ['space, enter', "the tester's button: begins, goes on without a touch or a magnet, wakes. After the end the button at the tester goes on to the next pickup, this key tests the same again"],
      ['t, g', 'on the virtual bench: the hand with the steel, the hand with the magnet probe'],
      ['n, p', 'the next pickup of the lot, the one before; a test that is under way is asked about first and kept as broken off'],
      ['c', 'breaks the test off; what was measured is kept'],
      ['u', 'takes the last test back and stands at its pickup; it stays in the records as withdrawn'],
      ['tab', 'another panel: map, findings, wiring; the arrow and page keys scroll it'],
      ['w', 'in the wiring, where there are more ways than are shown: every way, or only those that are wanted most'],
      ['b', 'a bell that rings when a hand is wanted and at the end'],
      ['s', 'another lot, with a tester'],
      ['l', 'the lot: what is tested and what is left'],
      ['f', 'the stock: find a pickup'],
      ['v', 'view this pickup as it is kept: history, papers, partners'],
      ['m', 'a pickup without the tester, by ohmmeter, steel and compass, one reading at a time'],
      ['h', 'the harness that pickups are wired into'],
      ['o', 'settings'],
      ['q', 'quits'],
    ],
    more: [
      'Each test is kept by itself, with all that it saw. The verdict is good, fault (do not fit it as it is) or unsure (evidence is missing).',
      LIVE,
    ],
  },
  'new lot': {
    title: 'a new lot',
    keys: [
      ['up, down', 'another line'], ['left, right', 'another kind of pickup, which proposes its places'],
      ['letters', 'are typed into the line'], ['enter', 'takes the form to the bench'], BACK,
    ],
    more: [
      'Said once for all pickups of a lot: on which clips leads are, their colours, and what the places are called that are touched.',
      'How many may stay empty; with it the lot tells how many are left and how long they take.',
      LIVE,
    ],
  },
  lot: {
    title: 'the lot on the bench',
    keys: [
      ['up, down', 'choose a pickup; page keys go faster'], ['enter', 'lays the chosen one on the bench'],
      ['v', 'views it as it is kept'], ['j', 'jumps to the next one that is unsure'],
      ['u', 'takes the last test back, after a question'], ['l', 'labels of the whole lot on A4, printed or into a file'],
      ['tab', 'the pickups, or how they compare: which differ from the others and pictures of their values'], BACK,
    ],
    more: [
      'In doubt are good ones of which something is still to be minded: "touch again" (a plus is only likely), "warning" (read its findings).',
      'The time left is the middle time from test to test, breaks left out, times the pickups left.', '* marks the pickup that lies on the bench.',
    ],
  },
  stock: {
    title: 'the stock',
    keys: [
      ['letters', 'are looked for as they are typed: beginnings of words in number, title, lot, colours, findings and notes; a code reader may type a number'],
      ['up, down', 'choose; page keys go faster'], ['enter', 'opens the pickup'],
      ['left, right', 'only one state: waiting, good, fault, unsure, set aside, sold'],
      ['tab', 'shows pickups of the virtual bench too, or hides them'], ['esc', 'clears what is looked for, then goes back; ctrl-c quits from everywhere'],
    ],
    more: [
      'Narrow it with name:value, as in these: number:00*  lot:"box 3"  state:good  verdict:unsure  leads:4  leads:BU,GY  pole:NS',
      'Two values with .. between them are ohms of all coils in series: 7k..8.5k, 7000.., ..9k',
      'In place of good stands what is still to be minded: "touch again" (a plus is only likely), "warning" (read its findings), "see its map".',
      'What other benches keep appears by itself. State, notes and papers of a pickup are behind enter.',
    ],
  },
  pickup: {
    title: 'one pickup',
    keys: [
      ['tab', 'another panel: map, findings, touches, wiring, history, partners; the arrow and page keys scroll it'],
      ['s', 'its state: waiting, good, fault, unsure, set aside, sold'], ['n', 'a note, found again by the search'],
      ['#', 'another number, typed or scanned'],
      ['l', 'its label: printed, or a PDF file'], ['a', 'a sheet of A4 with everything: printed, or a PDF file'],
      ['o', 'the text of an offer, plain or Markdown: what was measured and what was not'],
      ['h', 'puts it into a harness, with its partners to choose from'],
      ['w', 'in the wiring, where there are more ways than are shown: every way, or only those that are wanted most'],
      ['enter', 'in partners: opens the chosen one'], BACK,
    ],
    more: ['Partners are good pickups in stock, ranked by the hum that is left, then by ohms and henries.'],
  },
  entry: {
    title: 'entry by meters',
    keys: [
      ['enter', 'takes the ohms that are typed; at the end the map, which is kept'], ['+, -, 0', 'which way the meter first moved, or not at all'],
      ['n, s', 'the pole that the face shows'], ['y, n', 'answer a question back: yes, or keep what was typed'],
      ['b', 'one step back'], ['c', 'corrects an earlier reading, by its number in the list'], ['x', 'skips this reading'],
      ['tab', 'another panel: how it is read, what was read, the map so far'], ['q, esc', 'ends with what was read so far, after a question'],
    ],
    more: [...HOW.ohms, ...HOW.swing, ...HOW.compass, READING_CAUTIONS[0]!],
  },
  harnesses: {
    title: 'harnesses',
    keys: [['up, down', 'choose a file'], ['enter', 'opens it'], BACK],
    more: ['Listed are the files that end in .harness.json in the folder that the settings (o on the bench) name.'],
  },
  harness: {
    title: 'the harness',
    keys: [
      ['up, down', 'another setting of the switches'], ['left, right', 'another slot'], ['p', 'another pickup into the slot'],
      ['x', 'exchanges its hot and ground'], ['o', 'grounds its other coil'], ['w', 'the next way of wiring it'], ['m', 'turns its magnet over'],
      ['b, B', 'takes over the best plan, without or with turned magnets; any key stops a long search'], ['u', 'takes the last change back'],
      ['c', 'keeps this setting, to compare another with it'], ['h', 'another harness, where several were named'],
      ['tab', 'the curve, or the findings and where each lead goes; the page keys scroll these'],
      ['j', 'of the command tapstone harness: reads the guitar at its jack, by the tester, against the harness as it stands'],
      ['s', 'writes the harness as it stands: from the bench or a pickup into a file of its own in the folder of the settings, over no other; '
        + 'started with --out FILE to it'],
      ['e', 'of the command: ends, and prints the table and the soldering list'],
      ['q, esc', 'back; what is in no file is asked about first; ctrl-c quits from everywhere'],
    ],
    more: ['Everything follows from the circuit solved anew after each key. Nothing is written to the files that are read.'],
  },
  jack: {
    title: 'a guitar at its jack',
    keys: [
      ['enter', "the tester's button: begins with the setting that is told; within 10 s of an ask it passes the place over, later it says that a touch was not heard"],
      ['t', 'on the virtual bench: the hand with the steel'],
      ['n, p', 'the next setting, the one before; a reading that is under way is asked about first, and what was read of it is kept'],
      ['d', 'drops what was read of this setting, after a question: a switch stood elsewhere, a clip was off'],
      ['k', 'keeps the readings in a file, from now on each as soon as it is over'],
      ['tab', 'the setting, or the proof of all that was read so far; the arrow and page keys scroll it'],
      ['b', 'a bell that rings when a hand is wanted and at the end of a reading'],
      ['q, esc', 'ends and prints the proof; what was read so far is enough for it'],
    ],
    more: [
      '+ and -: which way hot of the jack goes first as steel arrives. Coils of like sign add, those of unlike sign work against each other. ! marks what differs from the plan.',
      'Another reading of a setting adds to the one before: two that agree tell more than one.',
      "The tester's own lamp judges as for a pickup on the bench; at a jack go by this screen.",
      LIVE,
      'Take out the battery where there is one: an active circuit keeps its voltage at the jack.',
    ],
  },
  settings: {
    title: 'settings',
    keys: [['up, down', 'choose a line'], ['enter', 'changes it; what stands in brackets is shown only'], BACK],
    more: [],
  },
};

/** A line of help: its text, and the indent of what wraps. */
export interface HelpLine {
  readonly text: string;
  readonly indent: number;
}

const KEY = 13;

export function helpTitle(topic: HelpTopic): string {
  return HELPS[topic].title;
}

export function helpLines(topic: HelpTopic): HelpLine[] {
  const { keys, more } = HELPS[topic];
  return [
    ...keys.map(([key, does]) => ({ text: `${key.padEnd(KEY)}${does}`, indent: KEY })),
    ...more.flatMap((text) => [{ text: '', indent: 0 }, { text, indent: 0 }]),
    { text: '', indent: 0 }, { text: 'Signs', indent: 0 },
    ...SIGN_LINES.map((text) => ({ text: `  ${text}`, indent: 2 })),
    { text: '', indent: 0 }, { text: 'Cautions', indent: 0 },
    ...CAUTIONS.map((text) => ({ text: `  - ${text}`, indent: 4 })),
  ];
}

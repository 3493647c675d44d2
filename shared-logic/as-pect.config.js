// as-pect runs the specs of the logic: each spec file is compiled with the code it tests.
import { MEMORY_bytes, REPORT_OUT, REPORT_bytes } from '../host/src/logic/layout.generated.ts';

/** Where the recording board keeps what it was told: a count, then four words for each command (fake-board.ts). */
const RECORD = 200704;
const RECORD_COMMANDS = 512;
/** What the board answers: whether it takes a report, whether a wand is plugged in; then how many reports it took; whether it takes a calibration. */
const ANSWERS = MEMORY_bytes;
/** Reports taken. */
const SENT = 212992;
const SENT_REPORTS = 700;

/** A board that only writes its commands down; fake-board.ts acts on them. */
function recordingBoard(memory) {
  const word = (address) => new DataView(memory.buffer).getInt32(address, true);
  const record = (...command) => {
    const view = new DataView(memory.buffer);
    const count = view.getUint32(RECORD, true);
    if (count >= RECORD_COMMANDS) return;
    for (let i = 0; i < 4; i++) view.setInt32(RECORD + 4 + 16 * count + 4 * i, command[i] ?? 0, true);
    view.setUint32(RECORD, count + 1, true);
  };
  return {
    switches: (switchWord) => record(1, switchWord),
    drive: (current_nA) => record(2, current_nA),
    convert: (input, rate) => record(3, input, rate),
    burst: (count, lead, stepWord) => record(4, count, lead, stepWord),
    listen: (on) => record(5, on),
    wake: (delay_us) => record(6, delay_us),
    light: (pattern) => record(7, pattern),
    send() {
      const view = new DataView(memory.buffer);
      if (word(ANSWERS) === 0) return 0;
      const taken = view.getUint32(ANSWERS + 8, true);
      const from = new Uint8Array(memory.buffer, REPORT_OUT, REPORT_bytes);
      if (taken < SENT_REPORTS) new Uint8Array(memory.buffer).set(from, SENT + taken * REPORT_bytes);
      view.setUint32(ANSWERS + 8, taken + 1, true);
      // The next one waits until this one is out.
      view.setInt32(ANSWERS, 0, true);
      record(8);
      return 1;
    },
    wand: () => word(ANSWERS + 4),
    store() {
      record(9);
      return word(ANSWERS + 12);
    },
  };
}

export default {
  entries: ['assembly/**/*.spec.ts'],
  include: ['assembly/**/*.include.ts'],
  disclude: [/node_modules/],
  async instantiate(memory, createImports, instantiate, binary) {
    const imports = createImports({ env: { memory } });
    let own = memory;
    imports.board = recordingBoard({ get buffer() { return own.buffer; } });
    const instance = await instantiate(binary, imports);
    own = instance.exports?.memory ?? memory;
    return instance;
  },
  outputBinary: false,
};

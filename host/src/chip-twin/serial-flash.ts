/**
 * The serial flash as its pins see it (W25Q16JV, 2 MB): status, unique number, plain reads and quad reads in their
 * continuous mode. What is stored is the emulator's business; this keeps what the part has been told.
 */

const COMMAND = {
  readStatus1: 0x05, readStatus2: 0x35, writeStatus2: 0x31, volatileWriteEnable: 0x50, uniqueId: 0x4b,
} as const;
export const READ_PLAIN = 0x03;
export const READ_QUAD = 0xeb;
/** Clocks between mode bits and data of a quad read. */
export const QUAD_DUMMY_clocks = 4;
/** Highest clocks from 3.0 V on: of 03h, and of everything else. */
export const PLAIN_MOST_Hz = 50e6;
export const CLOCK_MOST_Hz = 133e6;
const UNIQUE_ID_DUMMY_bytes = 4;
/** Status register 2: IO2 and IO3 are data lines. */
const QUAD_ENABLE = 1 << 1;
/** Mode bits 5 and 4 as 1 and 0: the next quad read comes without its command. */
const CONTINUE_MASK = 0x30;
const CONTINUE = 0x20;
/** Where IO0 carries mode bit 4 when a byte goes out on IO0 alone: the seventh clock. */
const MODE_BIT_4_ON_IO0 = 1 << 1;

export class SerialFlash {
  /** Whether the part takes the next access for a quad read without its command. */
  continuous = false;
  readonly #uniqueId: Uint8Array;
  #status2: number;
  #writable = false;
  #sent: number[] = [];

  /** @param uniqueId - 8 bytes @param quadEnabled - as the part left its factory */
  constructor(uniqueId: Uint8Array, quadEnabled: boolean) {
    this.#uniqueId = uniqueId;
    this.#status2 = quadEnabled ? QUAD_ENABLE : 0;
  }

  get quadEnabled(): boolean {
    return (this.#status2 & QUAD_ENABLE) !== 0;
  }

  /** Chip select falls. */
  select(): void {
    this.#sent = [];
  }

  /** Chip select rises: what was written takes effect. */
  deselect(): void {
    const [command, value] = this.#sent;
    if (command === COMMAND.volatileWriteEnable) this.#writable = true;
    if (command === COMMAND.writeStatus2 && value !== undefined) {
      if (this.#writable) this.#status2 = value;
      this.#writable = false;
    }
    this.#sent = [];
  }

  /** A byte out on IO0 and one in from IO1. */
  exchange(byte: number): number {
    if (this.continuous) {
      if (byte & MODE_BIT_4_ON_IO0) this.continuous = false;
      // Whatever follows before chip select rises belongs to that read.
      this.#sent = [READ_QUAD];
      return 0xff;
    }
    const before = this.#sent.length;
    this.#sent.push(byte & 0xff);
    if (before === 0) return 0xff;
    switch (this.#sent[0]) {
      case COMMAND.readStatus1: return this.#writable ? 2 : 0;
      case COMMAND.readStatus2: return this.#status2;
      case COMMAND.uniqueId: return this.#uniqueId[before - 1 - UNIQUE_ID_DUMMY_bytes] ?? 0xff;
      default: return 0xff;
    }
  }

  /** A quad read. @param command - undefined where none is sent @returns whether the part understood it */
  readQuad(command: number | undefined, mode: number): boolean {
    const understood = this.quadEnabled && (this.continuous ? command === undefined : command === READ_QUAD);
    if (understood) this.continuous = (mode & CONTINUE_MASK) === CONTINUE;
    return understood;
  }
}

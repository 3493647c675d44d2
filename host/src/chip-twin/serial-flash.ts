/**
 * The serial flash as its pins see it (W25Q16JV, 2 MB): status, unique number, plain reads, quad reads in their continuous mode,
 * sector erase and page program. What is read is the emulator's business; this keeps what the part has been told.
 */
import { FlashCells } from './flash-cells.ts';

const COMMAND = {
  readStatus1: 0x05, readStatus2: 0x35, writeStatus2: 0x31, volatileWriteEnable: 0x50, uniqueId: 0x4b,
  writeEnable: 0x06, pageProgram: 0x02, sectorErase: 0x20,
} as const;
/** Bits of status register 1. */
const BUSY = 1 << 0;
const WRITE_ENABLED = 1 << 1;
const ADDRESS_bytes = 3;
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
  readonly #cells: FlashCells;
  /** Write enable of the cells (06h), and that of the volatile status bits (50h), which status register 1 does not show. */
  #writeEnabled = false;
  #statusWritable = false;
  #sent: number[] = [];

  /** @param uniqueId - 8 bytes @param quadEnabled - as the part left its factory @param cells - none: nothing can be written */
  constructor(uniqueId: Uint8Array, quadEnabled: boolean, cells = new FlashCells(new Uint8Array(0), () => 0)) {
    this.#cells = cells;
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
    const [command, ...rest] = this.#sent;
    this.#sent = [];
    if (this.#cells.isBusy) return;
    switch (command) {
      case COMMAND.volatileWriteEnable: this.#statusWritable = true; break;
      case COMMAND.writeStatus2:
        if (rest[0] !== undefined && this.#statusWritable) this.#status2 = rest[0];
        this.#statusWritable = false;
        break;
      case COMMAND.writeEnable: this.#writeEnabled = true; break;
      case COMMAND.sectorErase: if (rest.length === ADDRESS_bytes) this.#write(() => this.#cells.erase(addressOf(rest))); break;
      case COMMAND.pageProgram:
        if (rest.length > ADDRESS_bytes) this.#write(() => this.#cells.program(addressOf(rest), rest.slice(ADDRESS_bytes)));
        break;
      default: break;
    }
  }

  #write(begin: () => void): void {
    if (this.#writeEnabled) begin();
    this.#writeEnabled = false;
  }

  /** Whether the cells change: only the status can be read. */
  get isBusy(): boolean {
    return this.#cells.isBusy;
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
      case COMMAND.readStatus1: return this.#cells.isBusy ? BUSY | WRITE_ENABLED : this.#writeEnabled ? WRITE_ENABLED : 0;
      case COMMAND.readStatus2: return this.#status2;
      case COMMAND.uniqueId: return this.#uniqueId[before - 1 - UNIQUE_ID_DUMMY_bytes] ?? 0xff;
      default: return 0xff;
    }
  }

  /** A quad read. @param command - undefined where none is sent @returns whether the part understood it */
  readQuad(command: number | undefined, mode: number): boolean {
    const understood = !this.#cells.isBusy && this.quadEnabled && (this.continuous ? command === undefined : command === READ_QUAD);
    if (understood) this.continuous = (mode & CONTINUE_MASK) === CONTINUE;
    return understood;
  }
}

function addressOf([high, middle, low]: readonly number[]): number {
  return (high! << 16) | (middle! << 8) | low!;
}

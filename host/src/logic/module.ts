/** Loads the one module of measurement logic and gives it a board. */
import { readFileSync } from 'node:fs';
import { createHash } from 'node:crypto';
import { instantiateSync } from '@assemblyscript/loader';
import { MEMORY_bytes } from './layout.generated.ts';

/** The board's commands, as shared-logic/assembly/board.ts declares them. */
export type BoardCommands = {
  switches(word: number): void;
  drive(current_nA: number): void;
  convert(input: number, rate: number): void;
  burst(count: number, lead: number, stepWord: number): void;
  listen(on: number): void;
  wake(delay_us: number): void;
  light(pattern: number): void;
  send(): number;
  wand(): number;
  store(): number;
};

/** The module's functions, as shared-logic/assembly/index.ts exports them. */
export type LogicExports = {
  memory: WebAssembly.Memory;
  start(): void;
  onButton(kind: number): void;
  onConversion(code: number, status: number): void;
  onBurst(status: number): void;
  onSamples(status: number): void;
  onTime(): void;
  onReport(length: number): void;
  onReportSent(): void;
  onLink(state: number): void;
  captureBegin(channelCount: number, sampleCount: number, rate_Hz: number, start_s: number): number;
  capturePush(channel: number, count: number): void;
  captureFocus(): number;
  evidenceClear(): void;
  applyEntry(): number;
  solve(): void;
};

/** An instance: its functions and one view of its memory (which never grows). */
export type Logic = {
  readonly calls: LogicExports;
  readonly bytes: Uint8Array;
  readonly view: DataView;
};

/** Seen from here and from the bundle alike. */
const MODULE = new URL('../../../shared-logic/build/logic.wasm', import.meta.url);

let compiled: { module: WebAssembly.Module; sha256: string } | undefined;

/** The compiled module and its SHA-256 (hex). @throws Error when it was never built */
export function logicModule(): { module: WebAssembly.Module; sha256: string } {
  if (compiled) return compiled;
  let wasm: Buffer;
  try {
    wasm = readFileSync(MODULE);
  } catch {
    throw new Error('logic.wasm is missing; run "npm run build:logic"');
  }
  compiled = {
    module: new WebAssembly.Module(new Uint8Array(wasm)),
    sha256: createHash('sha256').update(wasm).digest('hex'),
  };
  return compiled;
}

/** Commands for an instance that only solves: it never drives anything. */
const noBoard: BoardCommands = {
  switches() {}, drive() {}, convert() {}, burst() {}, listen() {}, wake() {}, light() {},
  send: () => 0,
  wand: () => 0,
  store: () => 0,
};

/** A new instance of the module. @param board - answers its commands; left out for solving only */
export function createLogic(board: BoardCommands = noBoard): Logic {
  const { module } = logicModule();
  const { exports: calls } = instantiateSync<LogicExports>(module, { board });
  if (calls.memory.buffer.byteLength !== MEMORY_bytes) {
    throw new Error(`logic.wasm has ${calls.memory.buffer.byteLength} bytes of memory, expected ${MEMORY_bytes}`);
  }
  return { calls, bytes: new Uint8Array(calls.memory.buffer), view: new DataView(calls.memory.buffer) };
}

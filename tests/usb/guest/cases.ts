import type * as NodeHid from 'node-hid';
import type { BenchSetup } from '../../../host/src/evidence/collect.ts';
import type { HostLine } from './host-line.ts';

/** What a case is given. */
export interface Bench {
  readonly host: HostLine;
  readonly hid: typeof NodeHid;
  /** USB/IP server ports of the test outside, by the name of the device behind them. */
  readonly ports: Readonly<Record<string, number>>;
  /** What the person would type in about the pickup on each tester, by the device's name. */
  readonly setups: Readonly<Record<string, BenchSetup>>;
}

/** One thing to be shown in the guest; what it returns is checked by the test outside as well. */
export interface Case {
  readonly name: string;
  readonly run: (bench: Bench) => Promise<unknown>;
}

/** The fuzzers by name. */
import type { Fuzzer } from './fuzzer.ts';
import { imageFuzzer } from './images.ts';
import { pickupFuzzer } from './pickups.ts';
import { recordFuzzer } from './records.ts';
import { reportFuzzer } from './reports.ts';
import { setupFuzzer } from './setups.ts';

export const FUZZERS: readonly Fuzzer[] = [recordFuzzer, pickupFuzzer, imageFuzzer, reportFuzzer, setupFuzzer];

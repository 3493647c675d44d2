/** Makes the collector callable, so that a measured heap is what is kept and not what is left over. */
import { setFlagsFromString } from 'node:v8';
import { runInNewContext } from 'node:vm';

setFlagsFromString('--expose-gc');
globalThis.gc = runInNewContext('gc') as typeof globalThis.gc;

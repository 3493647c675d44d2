/** The fit of a ring as a module of its own: for tests that give it bursts, beside other programs that fit the same. */
export { fitRing, lossTime_s, naturalSquared } from './fit';
export { ringAdd, ringBegin } from './gather';
export { startCapacitance } from './start';

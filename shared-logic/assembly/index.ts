/** The whole surface of the module: functions only. Events come from the board; the rest serves host and chip alike. */

export { start, onButton, onConversion, onBurst, onSamples, onTime, onReport } from './sequence/sequence';
export { onReportSent, onLink } from './sequence/ground/reports';
export { captureBegin, capturePush, captureFocus } from './touch/capture';
export { evidenceClear, applyEntry } from './evidence';
export { solve } from './solver/solve';

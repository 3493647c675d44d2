export function start(): void {}
export function onButton(kind: u32): void {}
export function onConversion(code: i32, status: u32): void {}
export function onBurst(status: u32): void {}
export function onSamples(status: u32): void {}
export function onTime(): void {}
export function onReport(length: u32): void {}
export function onReportSent(): void {}
export function onLink(state: u32): void {}

export function evidenceClear(): void {}
export function applyEntry(): u32 { return 0; }

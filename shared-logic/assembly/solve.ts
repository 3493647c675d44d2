export function solve(): void {}

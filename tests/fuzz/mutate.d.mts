export function mutated(format: string, seed: string | number, index: number): { name: string; bytes: Uint8Array };
export function undamaged(format: string): { name: string; bytes: Uint8Array };

export interface FuzzResult {
  readonly format: string;
  readonly cases: number;
  readonly read: number;
  readonly refused: Readonly<Record<string, number>>;
  readonly crashes: readonly string[];
  readonly hangs: readonly string[];
  readonly slowestMs: number;
  readonly slowestCase: number;
  readonly peakRssBytes: number;
}

export function runMeshFuzz(
  format: string,
  options: { seed: string | number; cases: number; from?: number; capMs?: number },
): Promise<FuzzResult>;

import type { Figure } from './figures.ts';

/** One figure of the ledger beside what the rest of the record would have said of it. */
export type ReviewRow = Readonly<{
  at: string;
  what: 'done' | 'weighed' | 'forecast';
  copyIds: readonly string[];
  quantity: 'mass' | 'time';
  /** material of a mass, printer of a time */
  of: string;
  real: number;
  /** from all other records of that material or printer */
  said: Figure;
  others: number;
  inside: boolean;
}>;

/** What is known of a material's grams or a printer's minutes. */
export type ReviewFactor = Readonly<{
  quantity: 'mass' | 'time';
  of: string;
  records: number;
  /** real over modelled of an ordinary next print, with its 80 % interval */
  factor: Readonly<{ value: number; low: number; high: number }>;
  /** kinds of print of which there is no record yet */
  lacks: readonly ('walls' | 'fill' | 'support')[];
}>;

export type Review = Readonly<{ rows: readonly ReviewRow[]; factors: readonly ReviewFactor[] }>;

/** What another program predicts beside the estimate. */
export type ForecastCheck = Readonly<{ quantity: 'mass' | 'time'; said: number; estimated: Figure; inside: boolean }>;

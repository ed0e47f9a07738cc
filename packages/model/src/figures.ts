/** A figure a person sees: value, interval (low to high at `level`, 0.8 unless said), and what it came from. */
export type Figure = Readonly<{ value: number; low?: number; high?: number; level?: number; from: string }>;

/** What a search says of itself. Budgets are rounds, so that results repeat; a time limit only stops early and is marked. */
export type Search = Readonly<{
  what: string;
  value: number;
  bound?: number;
  rounds: number;
  seed: number;
  ended: 'proven' | 'rounds' | 'time' | 'interrupted';
}>;

/** Something that could not be read or done: what and where, and what to do. */
export type Fault = Readonly<{ code: string; message: string; remedy: string; line?: number; column?: number }>;

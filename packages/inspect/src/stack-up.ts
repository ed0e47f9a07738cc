import type { Height, Stack } from '@stonehand/model';

export type StackUp = Readonly<{
  stackId: string;
  /** what stays free, all heights at their nominal value */
  gapMm: number;
  /** everything at its worst end at once */
  worstMm: readonly [number, number];
  /** errors independent of each other: their squares add (root sum of squares, about 3 in 1000 beyond when tolerances are three sigma) */
  likelyMm: readonly [number, number];
  wantedMm: readonly [number, number];
  fits: 'always' | 'mostly' | 'no';
  /** how many spacers bring the nominal gap nearest to the middle of what is wanted, with the gap then */
  spacers?: Readonly<{ count: number; gapMm: number; worstMm: readonly [number, number]; fits: StackUp['fits'] }>;
}>;

/** Spacers beyond this many are another design. */
const MOST_SPACERS = 12;

/**
 * The free space left in a stack: its room less the sum of its items, as a range from their tolerances, worst case and root sum of squares (the usual one-dimensional
 * tolerance chain), against the gap wanted. layerMm: printed items get a whole number of layers.
 */
export function stackUp(stack: Stack, layerMm: (partId: string) => number | undefined = () => undefined): StackUp {
  const items: Height[] = stack.items.flatMap((item) =>
    Array.from({ length: item.count }, () => printed(item, layerMm)),
  );
  const chain = judge(stack, items);
  const spacer = stack.spacer;
  if (spacer === undefined) return chain;
  const middle = (stack.gapMm[0] + stack.gapMm[1]) / 2;
  let best = 0;
  for (let count = 1; count <= MOST_SPACERS; count++) {
    const off = (n: number): number => Math.abs(chain.gapMm - n * spacer.heightMm - middle);
    if (off(count) < off(best) - 1e-9) best = count;
  }
  const withSpacers = judge(stack, [...items, ...Array.from({ length: best }, () => spacer)]);
  const { gapMm, worstMm, fits } = withSpacers;
  return { ...chain, spacers: { count: best, gapMm, worstMm, fits } };
}

function printed(item: Stack['items'][number], layerMm: (partId: string) => number | undefined): Height {
  const layer = item.partId === undefined ? undefined : layerMm(item.partId);
  return layer === undefined ? item : { ...item, heightMm: Math.round(item.heightMm / layer) * layer };
}

function judge({ id, within, gapMm: wanted }: Stack, items: readonly Height[]): StackUp {
  const sum = (of: (item: Height) => number): number => items.reduce((total, item) => total + of(item), 0);
  const gapMm = within.heightMm - sum((item) => item.heightMm);
  const low = gapMm - within.minusMm - sum((item) => item.plusMm);
  const high = gapMm + within.plusMm + sum((item) => item.minusMm);
  // Limits that are not symmetric: the chain is centred first, then half widths are added in squares.
  const centre = (low + high) / 2;
  const half = Math.sqrt(
    [within, ...items].reduce((total, item) => total + ((item.plusMm + item.minusMm) / 2) ** 2, 0),
  );
  const likelyMm = [centre - half, centre + half] as const;
  const inside = ([from, to]: readonly [number, number]): boolean => from >= wanted[0] - 1e-9 && to <= wanted[1] + 1e-9;
  return {
    stackId: id,
    gapMm,
    worstMm: [low, high],
    likelyMm,
    wantedMm: wanted,
    fits: inside([low, high]) ? 'always' : inside(likelyMm) ? 'mostly' : 'no',
  };
}

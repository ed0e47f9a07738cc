/**
 * Cuts a list into runs of consecutive entries at the least total cost, by dynamic programming over the list: what it is
 * sorted by decides who may share a plate.
 * @param costOf entries from … to − 1 on one plate; Infinity where they may not share one, never for a single entry
 * @returns the runs, as lists of positions, and their total cost
 */
export function batches(
  n: number,
  costOf: (from: number, to: number) => number,
): Readonly<{ runs: readonly (readonly number[])[]; cost: number }> {
  const cost = new Float64Array(n + 1).fill(Infinity);
  const cameFrom = new Int32Array(n + 1);
  cost[0] = 0;
  for (let from = 0; from < n; from++) {
    for (let to = from + 1; to <= n; to++) {
      const one = costOf(from, to);
      // What does not go on a plate does not go on it with one more either.
      if (one === Infinity) break;
      const here = cost[from]! + one;
      if (here < cost[to]!) {
        cost[to] = here;
        cameFrom[to] = from;
      }
    }
  }
  const runs: number[][] = [];
  for (let to = n; to > 0; to = cameFrom[to]!) {
    runs.unshift(Array.from({ length: to - cameFrom[to]! }, (_, k) => cameFrom[to]! + k));
  }
  return { runs, cost: cost[n]! };
}

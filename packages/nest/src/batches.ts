/** What a printer's plate costs beyond its printing time. */
export type RunCosts = Readonly<{
  /** one more start: hands-on time and warming up */
  startS: number;
  failPerHour: number;
  longestRunS: number;
  usableMm2: number;
}>;

// Outlines of unlike parts seldom fill more of a plate than this; what does not fit after all goes to the next plate.
const FILL = 0.6;

/**
 * Cuts a list of copies, longest first, into runs that belong on one plate each: consecutive ones, so that long pieces
 * are alone or with few and short ones together. A run of T hours costs a start, and failPerHour · T of losing up to all of
 * T; least total by dynamic programming over the list. Two long pieces together risk more than a start saves; ten short ones do not.
 * @param secondsOf the plate's time for copies from … to − 1
 */
export function batches(
  areasMm2: readonly number[],
  secondsOf: (from: number, to: number) => number,
  { startS, failPerHour, longestRunS, usableMm2 }: RunCosts,
): number[][] {
  const n = areasMm2.length;
  const cost = new Float64Array(n + 1).fill(Infinity);
  const cameFrom = new Int32Array(n + 1);
  cost[0] = 0;
  for (let from = 0; from < n; from++) {
    let area = 0;
    for (let to = from + 1; to <= n; to++) {
      area += areasMm2[to - 1]!;
      const seconds = secondsOf(from, to);
      if (to > from + 1 && (seconds > longestRunS || area > FILL * usableMm2)) break;
      const here = cost[from]! + startS + ((failPerHour * seconds) / 3600) * seconds;
      if (here < cost[to]!) {
        cost[to] = here;
        cameFrom[to] = from;
      }
    }
  }
  const found: number[][] = [];
  for (let to = n; to > 0; to = cameFrom[to]!) {
    found.unshift(Array.from({ length: to - cameFrom[to]! }, (_, k) => cameFrom[to]! + k));
  }
  return found;
}

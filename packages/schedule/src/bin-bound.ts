/**
 * Least number of bins of one capacity: Martello & Toth's L2 (1990, from memory): for each threshold k, items larger than
 * capacity − k need a bin each, those larger than half too, and the rest down to k must fit into what these leave.
 */
export function binBound(sizes: readonly number[], capacity: number): number {
  let bound = Math.ceil(sizes.reduce((a, b) => a + b, 0) / capacity - 1e-9);
  for (const k of new Set(sizes.filter((size) => size <= capacity / 2))) {
    let alone = 0;
    let half = 0;
    let halfSum = 0;
    let smallSum = 0;
    for (const size of sizes) {
      if (size > capacity - k) alone++;
      else if (size > capacity / 2) {
        half++;
        halfSum += size;
      } else if (size >= k) smallSum += size;
    }
    bound = Math.max(
      bound,
      alone + half + Math.max(0, Math.ceil((smallSum - (half * capacity - halfSum)) / capacity - 1e-9)),
    );
  }
  return Math.max(bound, sizes.filter((size) => size > capacity / 2).length);
}

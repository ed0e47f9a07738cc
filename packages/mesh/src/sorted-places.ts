const DIGIT_BITS = 11;
const DIGITS = 1 << DIGIT_BITS;

/** Places in rising order of their 32-bit keys, equal keys in their own order: three passes of a counting sort. */
export function sortedPlaces(keys: Uint32Array): Uint32Array {
  let from = keys.slice();
  let to = new Uint32Array(keys.length);
  let places = new Uint32Array(keys.length);
  let next = new Uint32Array(keys.length);
  for (let i = 0; i < places.length; i++) places[i] = i;
  const starts = new Uint32Array(DIGITS + 1);
  for (let shift = 0; shift < 32; shift += DIGIT_BITS) {
    starts.fill(0);
    for (let i = 0; i < from.length; i++) starts[((from[i] >>> shift) & (DIGITS - 1)) + 1]++;
    for (let d = 1; d <= DIGITS; d++) starts[d] += starts[d - 1];
    for (let i = 0; i < from.length; i++) {
      const at = starts[(from[i] >>> shift) & (DIGITS - 1)]++;
      next[at] = places[i];
      to[at] = from[i];
    }
    [from, to] = [to, from];
    [places, next] = [next, places];
  }
  return places;
}

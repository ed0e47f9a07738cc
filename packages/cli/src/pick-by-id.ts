import { nearestName, StonehandError } from '@stonehand/base';

/**
 * The one of a list that is meant, or the first when none is named.
 * @throws StonehandError DATA_UNKNOWN with the nearest name
 */
export function pickById<T extends { readonly id: string }>(
  list: readonly T[],
  id: string | undefined,
  what: string,
): T {
  const found = id === undefined ? list[0] : list.find((item) => item.id === id);
  if (found !== undefined) return found;
  const ids = list.map((item) => item.id);
  const near = id === undefined ? undefined : nearestName(id, ids);
  throw new StonehandError(
    'DATA_UNKNOWN',
    `there is no ${what} "${id ?? ''}"`,
    near === undefined ? `Known: ${ids.join(', ')}.` : `Did you mean "${near}"? Known: ${ids.join(', ')}.`,
  );
}

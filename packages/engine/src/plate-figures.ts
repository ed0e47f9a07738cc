import { plateSeconds } from '@stonehand/estimate';
import type { Estimate, Figure, Workspace } from '@stonehand/model';

/** Grams of copies: the errors of one plate's pieces have common causes (the same model, printer and spool), so their bounds add up. */
export function massOfCopies(estimates: readonly Estimate[]): Figure {
  let value = 0;
  let low = 0;
  let high = 0;
  for (const { massG } of estimates) {
    value += massG.value;
    low += massG.low ?? massG.value;
    high += massG.high ?? massG.value;
  }
  return { value, low, high, level: 0.8, from: `sum of ${estimates.length} estimates` };
}

/** Modelled seconds of a plate with the correction and the interval of the estimates on it. */
export function timeOfCopies(modelledS: number, estimates: readonly Estimate[]): Figure {
  const sum = (of: (estimate: Estimate) => number): number => estimates.reduce((total, e) => total + of(e), 0);
  const alone = sum(({ durationS, timeFactor = 1 }) => durationS.value / timeFactor);
  const share = (end: 'low' | 'high'): number => sum(({ durationS }) => durationS[end] ?? durationS.value) / alone;
  return {
    value: modelledS * (sum(({ durationS }) => durationS.value) / alone),
    low: modelledS * share('low'),
    high: modelledS * share('high'),
    level: 0.8,
    from: `layers of ${estimates.length} ${estimates.length === 1 ? 'piece' : 'pieces'} printed together`,
  };
}

/** Modelled seconds of copies printed together on one printer, by the recipe of the first; undefined where the workspace no longer has either. */
export function togetherS(
  estimates: readonly Estimate[],
  printerId: string,
  { printers, recipes }: Pick<Workspace, 'printers' | 'recipes'>,
): number | undefined {
  const printer = printers.find(({ id }) => id === printerId);
  const recipe = recipes.find(({ id }) => id === estimates[0]?.recipeId);
  if (printer === undefined || recipe === undefined) return undefined;
  return plateSeconds({ layerS: estimates.map(({ layerS }) => layerS), recipe, printer });
}

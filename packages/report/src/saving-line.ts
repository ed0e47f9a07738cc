import type { Plan, PlateSaving } from '@stonehand/model';
import { durationValue, listWords } from './words.ts';

/** What printing copies together saves over all plates and why, in a sentence; empty where nothing is printed together. */
export function savingLine({ plates }: Pick<Plan, 'plates'>): string {
  const savings = plates.flatMap(({ saving }) => (saving === undefined ? [] : [saving]));
  return savings.length === 0 ? '' : savingSentence(savings.reduce(sumOf));
}

/** The same of one plate. */
export function savingSentence({ aloneS, togetherS, warmUpS, layerChangesS, waitingS, travelS }: PlateSaving): string {
  const hours = (seconds: number): string => durationValue({ value: seconds, from: '' });
  const reasons = [
    [warmUpS, 'warming up once'],
    [layerChangesS, 'shared layer changes'],
    [waitingS, 'no waiting for small layers to cool'],
  ] as const;
  const said = reasons.filter(([s]) => s >= LEAST_S).map(([s, why]) => `${why} ${hours(s)}`);
  const less = travelS >= LEAST_S ? `, less ${hours(travelS)} of travel between copies` : '';
  const saved = aloneS - togetherS;
  if (saved < LEAST_S) return `Printed together copies take ${hours(togetherS)}, no less than one by one.`;
  return `Printed together copies take ${hours(togetherS)} instead of ${hours(aloneS)} one by one: ${listWords(said)}${less}.`;
}

/** Shorter times are not worth a word. */
const LEAST_S = 60;

function sumOf(a: PlateSaving, b: PlateSaving): PlateSaving {
  return {
    aloneS: a.aloneS + b.aloneS,
    togetherS: a.togetherS + b.togetherS,
    warmUpS: a.warmUpS + b.warmUpS,
    layerChangesS: a.layerChangesS + b.layerChangesS,
    waitingS: a.waitingS + b.waitingS,
    travelS: a.travelS + b.travelS,
  };
}

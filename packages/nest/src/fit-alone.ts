import type { Printer } from '@stonehand/model';
import { arrange, type Bench } from './arrange.ts';
import type { NestItem } from './nest-item.ts';

/**
 * How a copy fits an empty plate: with the usual turns, or only with an unusual one (every degree is then tried), or not
 * at all (`undefined`).
 */
export function fitAlone(item: NestItem, printer: Printer, bench: Bench, seed: number): readonly number[] | undefined {
  const usual = item.turnsDeg ?? bench.turnsDeg;
  const options = { rounds: 20, seed };
  if (arrange([item], printer, bench, options).placed.length === 1) return usual;
  if (item.turnsDeg !== undefined) return undefined;
  const everyDegree = Array.from({ length: 360 }, (_, k) => k);
  const { placed } = arrange([{ ...item, turnsDeg: everyDegree }], printer, bench, { rounds: 60, seed });
  return placed.length === 1 ? [placed[0]!.turnDeg, (placed[0]!.turnDeg + 180) % 360] : undefined;
}

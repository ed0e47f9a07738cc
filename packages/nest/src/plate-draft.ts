import { hashValue } from '@stonehand/base';
import type { Placed, Plate, Printer } from '@stonehand/model';
import { choiceOf, type SecondsFor } from './able-copies.ts';
import type { NestItem } from './nest-item.ts';
import { plateName } from './plate-name.ts';

/** A plate whose grams and seconds are plain sums still; the intervals come from the estimates. */
export type PlateDraft = Readonly<
  Omit<Plate, 'massG' | 'durationS'> & { copyIds: readonly string[]; massG: number; durationS: number }
>;

export function draftOf(
  placed: readonly Placed[],
  usedShare: number,
  on: readonly NestItem[],
  printer: Printer,
  seconds: SecondsFor,
): PlateDraft {
  const copyIds = placed.map(({ copyId }) => copyId);
  return {
    id: hashValue({ printerId: printer.id, placed }),
    name: plateName(copyIds, printer.id),
    printerId: printer.id,
    materialIds: [on[0]!.materialId],
    recipeId: on[0]!.recipeId,
    placed,
    heightMm: Math.max(...on.map((item) => item.heightMm)),
    usedShare,
    copyIds,
    massG: on.reduce((sum, item) => sum + choiceOf(item, printer).massG, 0),
    durationS: seconds(on, printer),
  };
}

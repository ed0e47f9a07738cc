import type { Plate } from '@stonehand/model';
import { type PlanNames, pieceOfCopy } from './plan-names.ts';
import { num } from './svg.ts';
import { listWords } from './words.ts';

// Where a first layer lets go, by common practice (no source): a foot of less than a thumbnail, a slim stand, a broad flat foot.
const SMALL_FOOT_MM2 = 120;
const SLIM_TIP_DEG = 12;
const BROAD_FOOT_MM2 = 6000;

/** What to look at while the first layers are laid, worst first, in words. */
export function watchPoints(names: PlanNames, plate: Plate): string[] {
  const ids = [...new Set(plate.placed.map(({ copyId }) => pieceOfCopy(copyId)))];
  const pieces = ids.flatMap((id) => {
    const piece = names.piece(id);
    return piece === undefined ? [] : [{ pose: piece.pose, name: names.pieceName(id) }];
  });
  const recipe = names.recipe(plate.recipeId);
  const material = names.material(plate.materialIds[0] ?? '');
  const points: string[] = [];
  const small = pieces.filter(({ pose }) => pose.contactMm2 > 0 && pose.contactMm2 < SMALL_FOOT_MM2);
  if (small.length > 0)
    points.push(
      `${listWords(small.map(({ name, pose }) => `${name} (${num(pose.contactMm2, 0)} mm²)`))}: small foot, every line of it must stick`,
    );
  const slim = pieces.filter(({ pose }) => pose.tipDeg < SLIM_TIP_DEG);
  if (slim.length > 0) points.push(`${listWords(slim.map(({ name }) => name))}: tall and slim, knocks easily`);
  const broad = pieces.filter(({ pose }) => pose.contactMm2 > BROAD_FOOT_MM2);
  if (broad.length > 0) points.push(`${listWords(broad.map(({ name }) => name))}: broad foot, corners lift first`);
  if ((recipe?.brimMm ?? 0) > 0) points.push(`the ${recipe!.brimMm} mm brim joins its piece all round`);
  if (material?.needs.includes('enclosure')) points.push('door closed, no draught; warm up before the first layer');
  if (material?.needs.includes('slowFeed')) points.push('flexible filament: slow, the spool turns freely, no pull');
  const held = pieces.filter(({ pose }) => pose.supportMm3 > 0);
  if (held.length > 0 && recipe?.support === 'auto')
    points.push(
      `support starts on the plate under ${listWords(
        held.map(({ name }) => name),
        4,
      )}`,
    );
  points.push('even lines without gaps across the whole plate; stop and clean the plate where one drags');
  return points;
}

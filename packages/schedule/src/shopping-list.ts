import { StonehandError, seededRandom } from '@stonehand/base';
import type { Buy, Figure, Material, Spool } from '@stonehand/model';
import { assignSpools, KEEP_BACK_G } from './assign-spools.ts';
import { PURGE_G } from './schedule-types.ts';
import { COMMON_SHARE, mixedNormal, quantile, skewed } from './skewed.ts';

/** One run to come: a plate, printed until it succeeds. */
export type FilamentNeed = Readonly<{
  id: string;
  materialId: string;
  /** the parts with brim and support, without purge */
  massG: Figure;
  /** of it, what is support */
  supportG?: number;
  durationS: number;
  failPerStart: number;
  failPerHour: number;
}>;

export type ShoppingInput = Readonly<{
  needs: readonly FilamentNeed[];
  spools: readonly Spool[];
  materials: readonly Material[];
  /** default PURGE_G: purge and prime of each start, failed ones too */
  purgeG?: number;
  keepBackG?: number;
  /** a start that fails is stopped by then (default 720 s, the watch) */
  watchS?: number;
  commonShare?: number;
  /** default 2000 */
  samples?: number;
  seed?: number;
}>;

/**
 * Filament to buy, one row a material that is needed, in the order of the names. Every run is drawn until it succeeds: a start fails
 * with failPerStart and wastes what was laid in the watched minutes; later it fails at a constant rate failPerHour and wastes its
 * mass up to then. needG: median, with the 10 % and 90 % levels. Spools: enough for the 90 % level, and enough that every run
 * gets all its filament from one spool, leftovers first.
 * @throws StonehandError DATA_UNKNOWN for a material that is not among the materials
 */
export function shoppingList(input: ShoppingInput): Buy[] {
  const { needs, materials } = input;
  return [...new Set(needs.map((need) => need.materialId))].sort().map((id) => {
    const material = materials.find((candidate) => candidate.id === id);
    if (material === undefined) {
      throw new StonehandError(
        'DATA_UNKNOWN',
        `no material is called "${id}"`,
        'Name one of the materials of the shop.',
      );
    }
    return buyOf(
      material,
      needs.filter((need) => need.materialId === id),
      input,
    );
  });
}

function buyOf(material: Material, needs: readonly FilamentNeed[], input: ShoppingInput): Buy {
  const { purgeG = PURGE_G, keepBackG = KEEP_BACK_G, seed = 1 } = input;
  const drawn = drawTotals(needs, input);
  const needG: Figure = {
    value: quantile(drawn.totalG, 0.5),
    low: quantile(drawn.totalG, 0.1),
    high: quantile(drawn.totalG, 0.9),
    level: 0.8,
    from: `${needs.length} runs, with purge and expected failures`,
  };
  const shelf = input.spools.filter((spool) => spool.materialId === material.id);
  const rooms = shelf.map((spool) => Math.max(0, spool.lowG - keepBackG));
  const shelfG = rooms.reduce((a, b) => a + b, 0);
  const assignment = assignSpools({
    needs: needs.map(({ id, materialId, massG }) => ({ id, materialId, massG: (massG.high ?? massG.value) + purgeG })),
    spools: shelf,
    keepBackG,
    newSpoolG: { [material.id]: material.spoolG },
    seed,
  });
  const byLevel = Math.max(0, Math.ceil((needG.high! - shelfG) / (material.spoolG - keepBackG) - 1e-9));
  const spools = Math.max(byLevel, assignment.newSpools.length);
  const supportG = needs.reduce((sum, need) => sum + (need.supportG ?? 0), 0);
  return {
    materialId: material.id,
    needG,
    shelfG,
    spools,
    ...(material.pricePerKg === undefined ? {} : { price: (spools * material.spoolG * material.pricePerKg) / 1000 }),
    netG: needs.reduce((sum, need) => sum + need.massG.value, 0) - supportG,
    supportG,
    purgeG: purgeG * needs.length,
    failuresG: drawn.failedG,
    strandedG: spools === 0 ? 0 : strandedG(shelf, rooms, needs, assignment.spoolOf, purgeG),
  };
}

/** What stays on opened and unopened shelf spools although more is bought. */
function strandedG(
  shelf: readonly Spool[],
  rooms: readonly number[],
  needs: readonly FilamentNeed[],
  spoolOf: Readonly<Record<string, string>>,
  purgeG: number,
): number {
  return shelf.reduce((sum, spool, i) => {
    const used = needs
      .filter((need) => spoolOf[need.id] === spool.id)
      .reduce((total, need) => total + (need.massG.high ?? need.massG.value) + purgeG, 0);
    return sum + Math.max(0, rooms[i]! - used);
  }, 0);
}

/** A printer that fails again and again is stopped by its owner: no run is tried more often. */
const MOST_TRIES = 20;

function drawTotals(needs: readonly FilamentNeed[], input: ShoppingInput): { totalG: Float64Array; failedG: number } {
  const { purgeG = PURGE_G, watchS = 720, commonShare = COMMON_SHARE, samples = 2000, seed = 1 } = input;
  const random = seededRandom(seed);
  const totalG = new Float64Array(samples);
  let failed = 0;
  for (let s = 0; s < samples; s++) {
    const common = random.normal();
    let total = 0;
    for (const need of needs) {
      const massG = skewed(need.massG, mixedNormal(common, random.normal(), commonShare));
      for (let tries = 1; ; tries++) {
        const wasteG = tries < MOST_TRIES ? failureG(need, massG, watchS, random.next(), random.next()) : -1;
        total += purgeG;
        if (wasteG < 0) break;
        total += wasteG;
        failed += wasteG + purgeG;
      }
      total += massG;
    }
    totalG[s] = total;
  }
  return { totalG: totalG.sort(), failedG: failed / samples };
}

/** Grams lost in one try, −1 when it succeeds. */
function failureG(need: FilamentNeed, massG: number, watchS: number, atStart: number, later: number): number {
  const { durationS, failPerStart, failPerHour } = need;
  if (!(durationS > 0)) return -1;
  if (atStart < failPerStart) return massG * Math.min(1, watchS / durationS);
  if (!(failPerHour > 0)) return -1;
  const untilS = (-Math.log(1 - later) / failPerHour) * 3600;
  return untilS < durationS ? (massG * untilS) / durationS : -1;
}

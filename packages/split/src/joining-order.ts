import type { Joint } from '@stonehand/model';
import { type Plane, unit } from './plane.ts';

/** One step of putting a part together: what is together already on each side of a cut, and the joints between. */
export type JoiningStep = Readonly<{ lower: readonly string[]; upper: readonly string[]; joints: readonly Joint[] }>;

/**
 * The order in which pieces go together: the last cut is closed first, so that every step joins whole faces.
 * @param joints of joinPieces; pieces without a joint between them do not touch and are left out
 */
export function joiningOrder(planes: readonly Plane[], joints: readonly Joint[]): JoiningStep[] {
  const groups = new Map<string, readonly string[]>();
  const groupOf = (piece: string): readonly string[] => groups.get(piece) ?? [piece];
  const left = new Set(joints);
  const steps: JoiningStep[] = [];
  for (const plane of [...planes].reverse()) {
    const mine = [...left].filter((joint) => liesIn(joint, plane));
    for (const joint of mine) {
      if (!left.has(joint)) continue;
      const [lower, upper] = joint.between.map(groupOf);
      const between = mine.filter((other) => lower.includes(other.between[0]) && upper.includes(other.between[1]));
      for (const done of between) left.delete(done);
      const together = [...new Set([...lower, ...upper])];
      for (const piece of together) groups.set(piece, together);
      steps.push({ lower, upper, joints: between });
    }
  }
  return steps;
}

/** Joints lie in their plane up to the rounding of sums of three products. */
const ROUNDING_MM = 1e-6;

function liesIn({ axis, atMm }: Joint, plane: Plane): boolean {
  const n = unit(plane.normal);
  const parallel = axis.every((v, d) => Math.abs(v - n[d]) < 1e-9);
  return parallel && Math.abs(n[0] * atMm[0] + n[1] * atMm[1] + n[2] * atMm[2] - plane.offsetMm) < ROUNDING_MM;
}

/** Pins to cut from stock: so many of one length and thickness. */
export type Pins = Readonly<{ diameterMm: number; lengthMm: number; count: number; stock: 'filament' | 'rod' }>;

/** Thinner than this it is filament; common practice, no source. */
const THINNEST_ROD_MM = 2.95;

/** What to cut for a part's joints, thickest first: pins of flanges and dowels; keys are printed. */
export function pinsToCut(joints: readonly Joint[]): Pins[] {
  const counts = new Map<string, Pins>();
  for (const { kind, diameterMm, lengthMm } of joints) {
    if ((kind !== 'flange' && kind !== 'dowel') || diameterMm === undefined || lengthMm === undefined) continue;
    const key = `${diameterMm} ${lengthMm}`;
    const count = (counts.get(key)?.count ?? 0) + 1;
    counts.set(key, { diameterMm, lengthMm, count, stock: diameterMm < THINNEST_ROD_MM ? 'filament' : 'rod' });
  }
  return [...counts.values()].sort((a, b) => b.diameterMm - a.diameterMm || b.lengthMm - a.lengthMm);
}

/** Aluminium, pure 2.70 (handbook value, from memory); the usual hobby rod. */
const ROD_G_PER_CM3 = 2.7;

/** Mass of a joint's pin; a length of filament weighs what its plastic weighs. */
export function pinMassG(
  { diameterMm, lengthMm }: Pick<Pins, 'diameterMm' | 'lengthMm'>,
  filamentGPerCm3: number,
): number {
  const volumeCm3 = ((Math.PI / 4) * diameterMm ** 2 * lengthMm) / 1000;
  return volumeCm3 * (diameterMm < THINNEST_ROD_MM ? filamentGPerCm3 : ROD_G_PER_CM3);
}

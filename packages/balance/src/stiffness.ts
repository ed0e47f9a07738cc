import type { BeadKind } from '@stonehand/model';

/**
 * Tensile moduli in GPa as typical data sheets of filament give them (all from memory; wet nylon; a maker's sheet always wins).
 * Only their ratios count.
 */
const MODULUS_GPA: Readonly<Record<string, number>> = {
  PLA: 3.3,
  'PLA+': 3,
  PETG: 2.1,
  ABS: 2.2,
  ASA: 2.1,
  'TPU 95A': 0.03,
  PA6: 1.5,
  PA12: 1.4,
  PC: 2.3,
  PP: 1.2,
  HIPS: 2,
  PVA: 3,
  'PLA-CF': 5.5,
  'PETG-CF': 4.5,
  'PA-CF': 5,
};
const UNKNOWN_GPA = 2;
const FULL: ReadonlySet<BeadKind> = new Set<BeadKind>(['outerPerimeter', 'innerPerimeter', 'solid', 'bridge']);

/**
 * A simple index of how stiff a print is: modulus × (plastic in walls, floors and roofs + plastic in the infill × its share).
 * An open cellular solid of relative density φ has φ² of the stiffness of the full one (Gibson & Ashby, "Cellular Solids", from
 * memory): infill lays φ of the volume, and counts φ once more. It knows nothing of where the walls lie or which way layers run:
 * good for comparing recipes of one part, not for loads.
 */
export function stiffnessIndex(
  byKind: readonly Readonly<{ kind: BeadKind; volumeMm3: number }>[],
  infillShare: number,
  materialKind: string,
): number {
  let counted = 0;
  for (const { kind, volumeMm3 } of byKind) {
    if (FULL.has(kind)) counted += volumeMm3;
    else if (kind === 'infill') counted += infillShare * volumeMm3;
  }
  return (MODULUS_GPA[materialKind] ?? UNKNOWN_GPA) * counted;
}

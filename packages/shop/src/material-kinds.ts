import type { Need } from '@stonehand/model';

/** What is known of a kind of filament before its data sheet is read. The maker's sheet always wins. */
export type MaterialKind = Readonly<{
  kind: string;
  densityGPerCm3: number;
  nozzleC: number;
  plateC: number;
  shrinkShare: number;
  flowMm3S: number;
  dryH: number;
  needs: readonly Need[];
  joins: readonly string[];
  solvent?: string;
}>;

/**
 * Densities: typical values of published tables (a materials site for PLA and PETG, a plastics retailer's tables of
 * specific gravity and shrinkage, a training sheet on polymer shrinkage); PLA+, ASA, TPU, PA12 and PVA from memory, PLA-CF
 * and PETG-CF from two data sheets, PA-CF from memory (1.1–1.25, its middle).
 * Temperatures: chosen inside the ranges of a hobby reference for materials and a wiki's filament pages; PA6, PP, HIPS
 * and PVA from memory; filled kinds 10–20 °C above their base (common practice). Of the two ranges the plate's upper
 * half is taken, as is usual for PLA and PETG on smooth plates.
 * Drying hours: common practice, middle of its range. Shrinkage: middle of the moulder's range (a plastics
 * retailer's tables, the training sheet, a mould maker's table); printed ABS and ASA are told to reach 1.5 %.
 * Flow with a standard 0.4 mm nozzle: common practice and memory, the middle of the range; TPU 2.5 so that it stays
 * within 15–30 mm/s (two pages on TPU speed).
 * Needs: enclosure for ABS and ASA by a wiki, the rest common practice; hard nozzles for carbon by tests of nozzle
 * wear (2019, two magazines). Solvents: ABS slurry by a tester of prints, ASA common practice, HIPS from memory; PLA is
 * joined by adhesive, its solvents being restricted.
 */
export const MATERIAL_KINDS: readonly MaterialKind[] = [
  kindOf('PLA', 1.24, 205, 60, 0.002, 13, 5),
  kindOf('PLA+', 1.24, 220, 60, 0.0025, 13, 5),
  kindOf('PETG', 1.27, 235, 80, 0.0035, 10, 6),
  kindOf('ABS', 1.04, 240, 100, 0.0065, 13, 5, {
    needs: ['enclosure'],
    joins: ['ABS', 'ASA', 'HIPS'],
    solvent: 'acetone',
  }),
  kindOf('ASA', 1.07, 245, 100, 0.0055, 12, 5, {
    needs: ['enclosure'],
    joins: ['ABS', 'ASA', 'HIPS'],
    solvent: 'acetone',
  }),
  kindOf('TPU 95A', 1.21, 225, 50, 0.0085, 2.5, 6, { needs: ['slowFeed'] }),
  kindOf('PA6', 1.13, 265, 90, 0.016, 10, 10, { needs: ['enclosure'] }),
  kindOf('PA12', 1.01, 260, 100, 0.014, 10, 10, { needs: ['enclosure'] }),
  kindOf('PC', 1.2, 285, 110, 0.006, 9, 7, { needs: ['enclosure'] }),
  kindOf('PP', 0.9, 235, 95, 0.0175, 8, 0),
  kindOf('HIPS', 1.04, 240, 100, 0.0055, 11.5, 5, {
    needs: ['enclosure'],
    joins: ['ABS', 'ASA', 'HIPS'],
    solvent: 'acetone',
  }),
  // It shrinks no more than what it supports and is washed away; no table gives a figure.
  kindOf('PVA', 1.23, 195, 55, 0, 5, 6),
  kindOf('PLA-CF', 1.29, 220, 60, 0.001, 10, 5, { needs: ['hardNozzle'] }),
  kindOf('PETG-CF', 1.34, 250, 80, 0.002, 10, 6, { needs: ['hardNozzle'] }),
  kindOf('PA-CF', 1.18, 280, 100, 0.007, 10, 10, { needs: ['enclosure', 'hardNozzle'] }),
];

/** The built-in kind of that name, whatever its case. */
export function materialKind(name: string): MaterialKind | undefined {
  const wanted = name.trim().toUpperCase();
  return MATERIAL_KINDS.find((kind) => kind.kind.toUpperCase() === wanted);
}

// Positional on purpose: the table above is read in columns.
function kindOf(
  kind: string,
  densityGPerCm3: number,
  nozzleC: number,
  plateC: number,
  shrinkShare: number,
  flowMm3S: number,
  dryH: number,
  more: Partial<Pick<MaterialKind, 'needs' | 'joins' | 'solvent'>> = {},
): MaterialKind {
  return { kind, densityGPerCm3, nozzleC, plateC, shrinkShare, flowMm3S, dryH, needs: [], joins: [], ...more };
}

import type { CopyMass, PartChoice, PartMass } from '@stonehand/balance';
import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import type { Assembly, HardwareItem, PartSpec, Placement, Vec3 } from '@stonehand/model';

export const at = (x: number, y: number, z: number): Placement => [1, 0, 0, x, 0, 1, 0, y, 0, 0, 1, z];

export function part(id: string, more: Partial<PartSpec> = {}): PartSpec {
  return {
    id,
    name: id,
    assemblyId: id.slice(0, Math.max(0, id.lastIndexOf('/'))),
    meshFile: `${id}.stl`,
    unit: 'mm',
    unitFrom: 'stated',
    scale: 1,
    quantity: 1,
    spares: 0,
    materialId: 'pla-white',
    recipeId: 'plain',
    status: 'print',
    pose: 'auto',
    split: 'auto',
    importance: 1,
    places: [at(0, 0, 0)],
    finishing: [],
    basedOn: [],
    ...more,
  };
}

export function assembly(id: string, more: Partial<Assembly> = {}): Assembly {
  return { id, name: id, parts: [], hardware: [], children: [], joints: [], limits: {}, ...more };
}

export function item(id: string, massG: number): HardwareItem {
  return { id, name: id, massG, magnetic: false };
}

export function lump(massG: number, centreMm: Vec3 = [0, 0, 0], share = 0): CopyMass {
  const interval = share === 0 ? {} : { low: massG * (1 - share), high: massG * (1 + share), level: 0.8 };
  return { massG: { value: massG, from: 'estimate', ...interval }, centreMm, inertiaGMm2: [0, 0, 0, 0, 0, 0] };
}

export function choice(id: string, mass: PartMass, durationS: number, stiffness = 1): PartChoice {
  return { id, says: id, mass, durationS, stiffness };
}

/** A seeded source of what random puppets are made of. */
export function dice(seed: number): {
  share(): number;
  between(low: number, high: number): number;
  count(low: number, high: number): number;
  point(size: number): Vec3;
  unit(): Vec3;
  placement(size: number): Placement;
} {
  const random = seededRandom(seed);
  const share = (): number => random.next();
  const between = (low: number, high: number): number => low + (high - low) * share();
  const point = (size: number): Vec3 => [between(-size, size), between(-size, size), between(-size, size)];
  return {
    share,
    between,
    count: (low, high) => low + Math.floor((high - low + 1) * share()),
    point,
    unit: () => {
      const v = point(1);
      const length = Math.hypot(...v);
      return [v[0] / length, v[1] / length, v[2] / length];
    },
    placement: (size) => affineOf(rotationOfTurns([between(0, 360), between(0, 360), between(0, 360)]), point(size)),
  };
}

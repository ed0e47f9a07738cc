import { assembledMass, inertiaAbout, type PartMass } from '@stonehand/balance';
import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import type { Assembly, PartSpec, Placement, Tensor, Vec3 } from '@stonehand/model';
import { expect, test } from 'vitest';
import { axisDistanceSq, type NestedPlace, placedByThree } from './oracles/placed-by-three.mjs';

// Every body is a swarm of point masses; three.js places the swarm through its scene graph, and mass, centre and inertia are
// sums over the points where they end up. Neither the parallel-axis theorem nor a turned tensor is used there.
const POINTS = 12;
const DEPTHS = [1, 1, 1, 2, 2, 2, 3, 3, 4, 4];
type Point = Readonly<{ massG: number; at: Vec3 }>;

const random = seededRandom(20);
const between = (low: number, high: number): number => low + (high - low) * random.next();
const point = (size: number): Vec3 => [between(-size, size), between(-size, size), between(-size, size)];

function place(mirrored: boolean): NestedPlace {
  return { turnRad: point(Math.PI), atMm: point(200), mirrored };
}

/** The same place in our twelve numbers, from degrees. */
function ours({ turnRad, atMm, mirrored }: NestedPlace): Placement {
  const deg = (rad: number): number => (rad * 180) / Math.PI;
  const numbers = affineOf(rotationOfTurns([deg(turnRad[0]), deg(turnRad[1]), deg(turnRad[2])]), atMm);
  return mirrored ? numbers.map((n, i) => (i % 4 === 1 ? -n : n)) : numbers;
}

function swarm(): Point[] {
  return Array.from({ length: POINTS }, () => ({ massG: between(0.5, 20), at: point(40) }));
}

function tensorOf(points: readonly Point[], c: Vec3): Tensor {
  let [xx, yy, zz, xy, yz, zx] = [0, 0, 0, 0, 0, 0];
  for (const { massG: m, at } of points) {
    const [x, y, z] = [at[0] - c[0], at[1] - c[1], at[2] - c[2]];
    xx += m * (y * y + z * z);
    yy += m * (x * x + z * z);
    zz += m * (x * x + y * y);
    xy -= m * x * y;
    yz -= m * y * z;
    zx -= m * z * x;
  }
  return [xx, yy, zz, xy, yz, zx];
}

function centreOf(points: readonly Point[]): { massG: number; centreMm: Vec3 } {
  let [massG, x, y, z] = [0, 0, 0, 0];
  for (const { massG: m, at } of points) {
    massG += m;
    x += m * at[0];
    y += m * at[1];
    z += m * at[2];
  }
  return { massG, centreMm: [x / massG, y / massG, z / massG] };
}

function spec(id: string, where: Placement): PartSpec {
  return {
    id,
    name: id,
    assemblyId: 'a',
    meshFile: `${id}.stl`,
    unit: 'mm',
    unitFrom: 'stated',
    scale: 1,
    quantity: 1,
    spares: 0,
    materialId: 'pla',
    recipeId: 'plain',
    status: 'print',
    pose: 'auto',
    split: 'auto',
    importance: 1,
    places: [where],
    finishing: [],
    basedOn: [],
  };
}

test('ten bodies in four nested assemblies, turned and mirrored: mass, centre and inertia as three.js places them, to 1e-9', () => {
  const pieceMass: Record<string, PartMass> = {};
  // Each assembly lies inside the one before.
  const nested = [place(false), place(true), place(false)];
  const partsAt: PartSpec[][] = [[], [], [], []];
  const placed = DEPTHS.flatMap((depth, i) => {
    const points = swarm();
    const { massG, centreMm } = centreOf(points);
    const own = place(i % 4 === 3);
    pieceMass[`body-${i}`] = {
      massG: { value: massG, from: 'swarm' },
      centreMm,
      inertiaGMm2: tensorOf(points, centreMm),
    };
    partsAt[depth - 1]!.push(spec(`body-${i}`, ours(own)));
    const where = placedByThree(
      [...nested.slice(0, depth - 1), own],
      points.map(({ at }) => at),
    );
    return points.map(({ massG: m }, k) => ({ massG: m, at: where[k]! }));
  });
  let tree: Assembly | undefined;
  for (let depth = 4; depth >= 1; depth--) {
    const children = tree === undefined ? [] : [{ assembly: tree, place: ours(nested[depth - 1]!) }];
    tree = { id: `a${depth}`, name: 'a', parts: partsAt[depth - 1]!, hardware: [], children, joints: [], limits: {} };
  }
  const report = assembledMass(tree!, { pieceMass, hardware: [] });

  const expected = centreOf(placed);
  const tensor = tensorOf(placed, expected.centreMm);
  expect(placed).toHaveLength(120);
  expect(Math.abs(report.massG.value / expected.massG - 1)).toBeLessThan(1e-9);
  for (let k = 0; k < 3; k++)
    expect(Math.abs(report.centreMm[k]! - expected.centreMm[k]!)).toBeLessThan(1e-9 * Math.hypot(...expected.centreMm));
  const size = Math.max(...tensor.map(Math.abs));
  for (let k = 0; k < 6; k++) expect(Math.abs(report.inertiaGMm2[k]! - tensor[k]!)).toBeLessThan(1e-9 * size);

  // About any axis: Σ m · (distance from the axis)².
  const whole = { massG: report.massG.value, centreMm: report.centreMm, inertiaGMm2: report.inertiaGMm2 };
  for (let n = 0; n < 20; n++) {
    const [x, y, z] = point(1);
    const length = Math.hypot(x, y, z);
    const axis: Vec3 = [x / length, y / length, z / length];
    const atMm = point(300);
    const about = placed.reduce((sum, { massG, at }) => sum + massG * axisDistanceSq(at, atMm, axis), 0);
    expect(Math.abs(inertiaAbout(whole, { atMm, axis }) / about - 1)).toBeLessThan(1e-9);
  }
});

import { assembledMass, inertiaAbout, type PartMass } from '@stonehand/balance';
import { affineOf, rotationOfTurns, seededRandom } from '@stonehand/base';
import type { Assembly, PartSpec, Placement, Tensor, Vec3 } from '@stonehand/model';
import { Euler, Matrix3, Matrix4, Object3D, Vector3 } from 'three';
import { expect, test } from 'vitest';

// Every body is a swarm of point masses; three.js places the swarm through its scene graph, and mass, centre and inertia are
// sums over the points where they end up. Neither the parallel-axis theorem nor a turned tensor is used there.
const POINTS = 12;
const DEPTHS = [1, 1, 1, 2, 2, 2, 3, 3, 4, 4];
type Point = Readonly<{ massG: number; at: Vec3 }>;

const random = seededRandom(20);
const between = (low: number, high: number): number => low + (high - low) * random.next();
const point = (size: number): Vec3 => [between(-size, size), between(-size, size), between(-size, size)];
const turns = (): Vec3 => [between(0, 360), between(0, 360), between(0, 360)];

/** The same place for both: our rows of twelve numbers, three's angles and position. Turns go about x, then y, then z. */
function place(mirrored: boolean): { ours: Placement; theirs: Matrix4 } {
  const [turn, at] = [turns(), point(200)];
  const rad = turn.map((deg) => (deg * Math.PI) / 180) as [number, number, number];
  const theirs = new Matrix4().makeRotationFromEuler(new Euler(...rad, 'ZYX')).setPosition(...at);
  const ours = affineOf(rotationOfTurns(turn), at);
  if (!mirrored) return { ours, theirs };
  theirs.multiply(new Matrix4().makeScale(1, -1, 1));
  return { ours: ours.map((n, i) => (i % 4 === 1 ? -n : n)), theirs };
}

function swarm(): Point[] {
  return Array.from({ length: POINTS }, () => ({ massG: between(0.5, 20), at: point(40) }));
}

function tensorOf(points: readonly Point[], c: Vec3): Tensor {
  const t = [0, 0, 0, 0, 0, 0];
  for (const { massG: m, at } of points) {
    const [x, y, z] = [at[0] - c[0], at[1] - c[1], at[2] - c[2]];
    const own = [y * y + z * z, x * x + z * z, x * x + y * y, -x * y, -y * z, -z * x];
    for (let k = 0; k < 6; k++) t[k]! += m * own[k]!;
  }
  return t as unknown as Tensor;
}

function centreOf(points: readonly Point[]): { massG: number; centreMm: Vec3 } {
  let massG = 0;
  const s = [0, 0, 0];
  for (const { massG: m, at } of points) {
    massG += m;
    for (let k = 0; k < 3; k++) s[k]! += m * at[k]!;
  }
  return { massG, centreMm: [s[0]! / massG, s[1]! / massG, s[2]! / massG] };
}

function spec(id: string, places: readonly Placement[]): PartSpec {
  return {
    id,
    name: id,
    assemblyId: 'a',
    meshFile: `${id}.stl`,
    unit: 'mm',
    unitFrom: 'stated',
    scale: 1,
    quantity: places.length,
    spares: 0,
    materialId: 'pla',
    recipeId: 'plain',
    status: 'print',
    pose: 'auto',
    split: 'auto',
    importance: 1,
    places,
    finishing: [],
    basedOn: [],
  };
}

test('ten bodies in four nested assemblies, turned and mirrored: mass, centre and inertia as three.js places them, to 1e-9', () => {
  const pieceMass: Record<string, PartMass> = {};
  const scene = new Object3D();
  const swarms: { node: Object3D; points: readonly Point[] }[] = [];
  // A chain of assemblies, each inside the one before, as one scene graph.
  const nodes = [scene];
  const childPlaces: Placement[] = [];
  for (let depth = 1; depth < 4; depth++) {
    const { ours, theirs } = place(depth === 2);
    childPlaces.push(ours);
    const node = new Object3D();
    node.matrixAutoUpdate = false;
    node.matrix.copy(theirs);
    nodes[depth - 1]!.add(node);
    nodes.push(node);
  }
  const partsAt: PartSpec[][] = [[], [], [], []];
  DEPTHS.forEach((depth, i) => {
    const id = `body-${i}`;
    const points = swarm();
    const { massG, centreMm } = centreOf(points);
    pieceMass[id] = { massG: { value: massG, from: 'swarm' }, centreMm, inertiaGMm2: tensorOf(points, centreMm) };
    const { ours, theirs } = place(i % 4 === 3);
    partsAt[depth - 1]!.push(spec(id, [ours]));
    const node = new Object3D();
    node.matrixAutoUpdate = false;
    node.matrix.copy(theirs);
    nodes[depth - 1]!.add(node);
    swarms.push({ node, points });
  });
  let tree: Assembly | undefined;
  for (let depth = 4; depth >= 1; depth--) {
    const children = tree === undefined ? [] : [{ assembly: tree, place: childPlaces[depth - 1]! }];
    tree = { id: `a${depth}`, name: 'a', parts: partsAt[depth - 1]!, hardware: [], children, joints: [], limits: {} };
  }
  const report = assembledMass(tree!, { pieceMass, hardware: [] });

  scene.updateMatrixWorld(true);
  const placed = swarms.flatMap(({ node, points }) =>
    points.map(({ massG, at }) => {
      const v = new Vector3(...at).applyMatrix4(node.matrixWorld);
      return { massG, at: [v.x, v.y, v.z] as Vec3 };
    }),
  );
  const expected = centreOf(placed);
  const tensor = tensorOf(placed, expected.centreMm);
  expect(placed).toHaveLength(120);
  expect(Math.abs(report.massG.value / expected.massG - 1)).toBeLessThan(1e-9);
  for (let k = 0; k < 3; k++)
    expect(Math.abs(report.centreMm[k]! - expected.centreMm[k]!)).toBeLessThan(1e-9 * Math.hypot(...expected.centreMm));
  const size = Math.max(...tensor.map(Math.abs));
  for (let k = 0; k < 6; k++) expect(Math.abs(report.inertiaGMm2[k]! - tensor[k]!)).toBeLessThan(1e-9 * size);

  // About any axis: Σ m·(distance from the axis)², with three's cross product, and once more with its matrix product.
  const whole = { massG: report.massG.value, centreMm: report.centreMm, inertiaGMm2: report.inertiaGMm2 };
  for (let n = 0; n < 20; n++) {
    const axis = new Vector3(...point(1)).normalize();
    const atMm = point(300);
    const about = placed.reduce(
      (sum, { massG, at }) =>
        sum +
        massG *
          new Vector3(...at)
            .sub(new Vector3(...atMm))
            .cross(axis)
            .lengthSq(),
      0,
    );
    const ours = inertiaAbout(whole, { atMm, axis: [axis.x, axis.y, axis.z] });
    expect(Math.abs(ours / about - 1)).toBeLessThan(1e-9);
    const [xx, yy, zz, xy, yz, zx] = report.inertiaGMm2;
    const own = axis
      .clone()
      .applyMatrix3(new Matrix3(xx, xy, zx, xy, yy, yz, zx, yz, zz))
      .dot(axis);
    const central = inertiaAbout(whole, { atMm: report.centreMm, axis: [axis.x, axis.y, axis.z] });
    expect(Math.abs(central / own - 1)).toBeLessThan(1e-9);
  }
});

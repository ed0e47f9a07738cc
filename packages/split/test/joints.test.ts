import { massProperties, topology } from '@stonehand/mesh';
import type { Joint, Mesh, Vec3 } from '@stonehand/model';
import { chooseJoints, cutMesh, joiningOrder, joinPieces, type Plane, pinsToCut } from '@stonehand/split';
import Manifold from 'manifold-3d';
import { beforeAll, describe, expect, test } from 'vitest';
import { box, hollowBall, torus, tube } from './solids.ts';

const across: Plane = { normal: [1, 0, 0], offsetMm: 50 };
const kinds = (joints: readonly Joint[]): string[] => [...new Set(joints.map(({ kind }) => kind))];
const volume = (mesh: Mesh): number => massProperties(mesh).volumeMm3;

let kernel: Awaited<ReturnType<typeof Manifold>>;
beforeAll(async () => {
  kernel = await Manifold();
  kernel.setup();
});

function solid(mesh: Mesh): InstanceType<typeof kernel.Manifold> {
  return kernel.Manifold.ofMesh(
    new kernel.Mesh({
      numProp: 3,
      vertProperties: Float32Array.from(mesh.positions),
      triVerts: Uint32Array.from(mesh.triangles),
    }),
  );
}

/** Closed, and no two of the bodies share more than a millionth of the smaller one. */
function expectApart(bodies: readonly Mesh[]): void {
  const solids = bodies.map(solid);
  bodies.forEach((a, i) => {
    expect(topology(a)).toMatchObject({ boundaryEdges: 0, nonManifoldEdges: 0, misorientedEdges: 0 });
    for (let j = 0; j < i; j++) {
      const shared = solids[i]!.intersect(solids[j]!).volume();
      expect(shared).toBeLessThan(1e-6 * Math.min(volume(a), volume(bodies[j]!)));
    }
  });
}

/** Least distance between the vertices of one surface and the triangles of the other, both ways. No code of the package. */
function leastDistance(a: Mesh, b: Mesh): number {
  return Math.sqrt(Math.min(squaredDistance(a, b), squaredDistance(b, a)));
}

function squaredDistance(points: Mesh, { positions: p, triangles: t }: Mesh): number {
  let best = Infinity;
  for (let k = 0; k < t.length; k += 3) {
    const [a, b, c] = [3 * t[k]!, 3 * t[k + 1]!, 3 * t[k + 2]!];
    const low = [0, 1, 2].map((d) => Math.min(p[a + d]!, p[b + d]!, p[c + d]!));
    const high = [0, 1, 2].map((d) => Math.max(p[a + d]!, p[b + d]!, p[c + d]!));
    for (let i = 0; i < points.positions.length; i += 3) {
      let beyond = 0;
      for (let d = 0; d < 3; d++) {
        const v = points.positions[i + d]!;
        const out = v < low[d]! ? low[d]! - v : v > high[d]! ? v - high[d]! : 0;
        beyond += out * out;
      }
      if (beyond < best) best = Math.min(best, toTriangle(points.positions, i, p, a, b, c));
    }
  }
  return best;
}

/** By projection on the plane, else on the nearest side. */
function toTriangle(q: ArrayLike<number>, i: number, p: ArrayLike<number>, a: number, b: number, c: number): number {
  const at = (s: ArrayLike<number>, j: number): Vec3 => [s[j]!, s[j + 1]!, s[j + 2]!];
  const [point, corners] = [at(q, i), [at(p, a), at(p, b), at(p, c)] as const];
  const n = cross(sub(corners[1], corners[0]), sub(corners[2], corners[0]));
  if (dot(n, n) < 1e-20) return Infinity;
  const sides = [0, 1, 2].map((k) => [corners[k]!, corners[(k + 1) % 3]!] as const);
  if (sides.every(([u, v]) => dot(cross(sub(v, u), sub(point, u)), n) >= 0)) {
    return dot(sub(point, corners[0]), n) ** 2 / dot(n, n);
  }
  return Math.min(
    ...sides.map(([u, v]) => {
      const e = sub(v, u);
      const s = Math.min(1, Math.max(0, dot(sub(point, u), e) / dot(e, e)));
      const r = sub(sub(point, u), [s * e[0], s * e[1], s * e[2]]);
      return dot(r, r);
    }),
  );
}
const sub = (u: Vec3, v: Vec3): Vec3 => [u[0] - v[0], u[1] - v[1], u[2] - v[2]];
const dot = (u: Vec3, v: Vec3): number => u[0] * v[0] + u[1] * v[1] + u[2] * v[2];
const cross = (u: Vec3, v: Vec3): Vec3 => [
  u[1] * v[2] - u[2] * v[1],
  u[2] * v[0] - u[0] * v[2],
  u[0] * v[1] - u[1] * v[0],
];

describe('what a section allows decides', () => {
  test('a thick block gets dowels, a thin shell flanges, a thin slab plain faces', () => {
    expect(kinds(chooseJoints(cutMesh(box([100, 40, 30]), [across]), [across]).map(({ joint }) => joint))).toEqual([
      'dowel',
    ]);
    const level: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 3 }];
    const shell = chooseJoints(cutMesh(hollowBall(60, 57.5, 24, 48), level), level, { partId: 'body/back' });
    expect(kinds(shell.map(({ joint }) => joint))).toEqual(['flange']);
    expect(shell[0]!.joint.between).toEqual(['body/back/a', 'body/back/b']);
    expect(shell.length).toBeGreaterThanOrEqual(4);
    expect(kinds(chooseJoints(cutMesh(box([100, 60, 2]), [across]), [across]).map(({ joint }) => joint))).toEqual([
      'butt',
    ]);
  });
  test('pieces that do not touch share no joint', () => {
    const planes: readonly Plane[] = [
      { normal: [1, 0, 0], offsetMm: 30 },
      { normal: [1, 0, 0], offsetMm: 60 },
    ];
    const joints = chooseJoints(cutMesh(box([100, 20, 2]), planes), planes);
    expect(joints.map(({ joint }) => joint.between.join())).toEqual(['a,b', 'b,c']);
  });
  test('dowels keep three quarters of their diameter as wall, and a wider section gets more of them', () => {
    const planes = [across];
    const few = chooseJoints(cutMesh(box([100, 40, 30]), planes), planes).map(({ joint }) => joint);
    const many = chooseJoints(cutMesh(box([100, 140, 100]), planes), planes).map(({ joint }) => joint);
    expect(many.length).toBeGreaterThan(few.length);
    for (const { atMm, diameterMm } of few) {
      const wall = Math.min(atMm[1], 40 - atMm[1], atMm[2], 30 - atMm[2]) - diameterMm! / 2;
      expect(wall).toBeGreaterThanOrEqual(0.75 * diameterMm! - 1e-9);
    }
  });
});

describe('joints are solids that keep their distance', () => {
  test.each([
    ['a block with dowels', box([100, 40, 30]), 50, 'auto', 'dowel'],
    ['a block with keys', box([100, 60, 50]), 50, 'key', 'key'],
    ['a ring cut through', torus(40, 12, 32, 12), 0, 'auto', 'dowel'],
  ] as const)('%s: nothing overlaps and gaps are as stated', async (_, mesh, offsetMm, wish, kind) => {
    const planes: readonly Plane[] = [{ normal: [1, 0, 0], offsetMm }];
    const cut = cutMesh(mesh, planes);
    const made = await joinPieces(cut, planes, { wish, glueGapMm: 0.15, gapPerSideMm: 0.2 });
    expect(kinds(made.joints)).toEqual([kind]);
    const [a, b] = made.pieces.map((piece) => piece.mesh);
    expectApart([a!, b!, ...made.loose.map((body) => body.mesh)]);
    // Cut faces are 0.15 mm back on each side; 32-bit coordinates of 100 mm are 4e-6 apart.
    expect(leastDistance(a!, b!)).toBeCloseTo(0.3, 4);
    for (const pin of made.loose) expect(leastDistance(a!, pin.mesh)).toBeCloseTo(0.2, 4);
    const sum = made.pieces.reduce((total, piece) => total + volume(piece.mesh), 0);
    expect(sum).toBeLessThan(volume(mesh));
  });
  test('a thin ball: lugs inside hold it in line, and nothing shows outside', async () => {
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 3 }];
    const mesh = hollowBall(60, 57.4, 24, 40);
    const made = await joinPieces(cutMesh(mesh, planes), planes, { leastWallMm: 0.8 });
    expect(kinds(made.joints)).toEqual(['flange']);
    const [a, b] = made.pieces.map((piece) => piece.mesh);
    expectApart([a!, b!, ...made.loose.map((body) => body.mesh)]);
    expect(leastDistance(a!, b!)).toBeCloseTo(0.2, 4);
    // Lugs add to the pieces, and no corner of them comes nearer to the outside than the wall that is kept: the ball's facets lie
    // within 60·(1 − cos(π/40)·cos(π/48)) = 0.31 mm of its sphere.
    for (const piece of [a!, b!]) {
      for (let i = 0; i < piece.positions.length; i += 3) {
        const r = Math.hypot(piece.positions[i]!, piece.positions[i + 1]!, piece.positions[i + 2]!);
        expect(r < 60 - 0.8 || r > 60 - 0.35).toBe(true);
      }
    }
    // Pins run through both halves of a flange and are free in their bores by the stated gap.
    for (const pin of made.loose) expect(leastDistance(b!, pin.mesh)).toBeCloseTo(0.1, 3);
  });
  test('a tube of 2.4 mm wall cut across is held by at least three lugs', async () => {
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 50 }];
    const made = await joinPieces(cutMesh(tube(40, 37.6, 100), planes), planes);
    expect(kinds(made.joints)).toEqual(['flange']);
    expect(made.joints.length).toBeGreaterThanOrEqual(3);
    expect(pinsToCut(made.joints)).toEqual([
      { diameterMm: 1.75, lengthMm: 6, count: made.joints.length, stock: 'filament' },
    ]);
  });
  test('edges shared by four faces are taken apart before the kernel sees them', async () => {
    // Two blocks that touch along one edge: as one mesh that edge has four faces.
    const mesh = twoBlocks();
    expect(topology(mesh).nonManifoldEdges).toBeGreaterThan(0);
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 30 }];
    const made = await joinPieces(cutMesh(mesh, planes), planes, { wish: 'butt', glueGapMm: 0 });
    const sum = made.pieces.reduce((total, piece) => total + volume(piece.mesh), 0);
    expect(sum / volume(mesh)).toBeCloseTo(1, 5);
  });
  test('a body that 32 bits cannot hold is refused with both volumes', async () => {
    // At 123 m from the origin of its own numbers single precision has steps of 0.008 mm.
    const mesh = box([20, 20.003, 20], [123_456.789, 98_765.432, 0]);
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 10 }];
    await expect(joinPieces(cutMesh(mesh, planes), planes)).rejects.toMatchObject({ code: 'GEOMETRY_FAILED' });
  });
});

describe('putting it together', () => {
  test('the last cut is closed first, and every piece is joined once', () => {
    const planes: readonly Plane[] = [
      { normal: [1, 0, 0], offsetMm: 50 },
      { normal: [0, 1, 0], offsetMm: 20, on: 'b' },
    ];
    const joints = chooseJoints(cutMesh(box([100, 40, 30]), planes), planes).map(({ joint }) => joint);
    const steps = joiningOrder(planes, joints);
    expect(steps.map(({ lower, upper }) => [lower.join(''), upper.join('')])).toEqual([
      ['b', 'c'],
      ['a', 'bc'],
    ]);
    expect(steps.flatMap((step) => step.joints)).toHaveLength(joints.length);
  });
});

function twoBlocks(): Mesh {
  const a = box([20, 20, 60]);
  const map = (mesh: Mesh, dx: number, dy: number): number[] =>
    [...mesh.positions].map((v, i) => v + (i % 3 === 0 ? dx : i % 3 === 1 ? dy : 0));
  const first = map(a, 0, 0);
  const second = map(a, 20, 20);
  const positions = [...first];
  const rename = new Map<number, number>();
  for (let v = 0; v < second.length / 3; v++) {
    const [x, y, z] = second.slice(3 * v, 3 * v + 3);
    let at = -1;
    for (let w = 0; w < first.length / 3; w++)
      if (first[3 * w] === x && first[3 * w + 1] === y && first[3 * w + 2] === z) at = w;
    if (at < 0) {
      at = positions.length / 3;
      positions.push(x!, y!, z!);
    }
    rename.set(v, at);
  }
  const triangles = [...a.triangles, ...[...a.triangles].map((v) => rename.get(v)!)];
  return { positions: Float64Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

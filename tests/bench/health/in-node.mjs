// node in-node.mjs CONTENDER FILE: one run in a fresh process; prints its times as JSON. Imports, reading and making of the rays are
// not timed.
import { readFileSync } from 'node:fs';
import { bytesSource, castRays, rayTree, readStl, selfIntersections, wallThickness } from '@stonehand/mesh';

const RAYS = 200_000;
const [, , who, file] = process.argv;
const { mesh } = readStl(bytesSource(file, readFileSync(file)));
const runs = { stonehand, threeMeshBvh, wallThickness: measured, selfIntersections: crossed };
console.log(JSON.stringify(await runs[who]()));

function stonehand() {
  const rays = innerRays(mesh);
  const start = clock();
  const tree = rayTree(mesh);
  const built = clock();
  const { triangle, distance } = castRays(tree, rays);
  return times(start, built, clock(), {
    hits: triangle.reduce((sum, t) => sum + (t >= 0 ? 1 : 0), 0),
    sum: distance.reduce((sum, d) => sum + Math.max(d, 0), 0),
  });
}

async function threeMeshBvh() {
  const { BufferAttribute, BufferGeometry, DoubleSide, Ray } = await import('three');
  const { MeshBVH, SAH } = await import('three-mesh-bvh');
  const rays = innerRays(mesh);
  const ray = new Ray();
  const start = clock();
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(mesh.positions, 3));
  geometry.setIndex(new BufferAttribute(mesh.triangles.slice(), 1));
  const tree = new MeshBVH(geometry, { strategy: SAH });
  const built = clock();
  let hits = 0;
  let sum = 0;
  for (let o = 0; o < rays.length; o += 6) {
    ray.origin.set(rays[o], rays[o + 1], rays[o + 2]);
    ray.direction.set(rays[o + 3], rays[o + 4], rays[o + 5]);
    const hit = tree.raycastFirst(ray, DoubleSide);
    if (hit === null) continue;
    hits++;
    sum += hit.distance;
  }
  return times(start, built, clock(), { hits, sum });
}

/** The whole of what a reading does: normals, bodies, tree, samples, only walls below the width. */
function measured() {
  const start = clock();
  const { thinRays } = wallThickness(mesh, { thinnerThan: 2.5, rays: RAYS });
  const end = clock();
  return { totalMs: end.wall - start.wall, cpuMs: end.cpu - start.cpu, hits: thinRays };
}

function crossed() {
  const start = clock();
  const { pairs } = selfIntersections(mesh);
  const end = clock();
  return { totalMs: end.wall - start.wall, cpuMs: end.cpu - start.cpu, pairs };
}

function times(start, built, end, more) {
  return {
    buildMs: built.wall - start.wall,
    castMs: end.wall - built.wall,
    totalMs: end.wall - start.wall,
    cpuMs: end.cpu - start.cpu,
    ...more,
  };
}

function clock() {
  const { user, system } = process.cpuUsage();
  return { wall: performance.now(), cpu: (user + system) / 1000 };
}

/** From a micrometre below the middle of a facet inwards, facets in their order. */
function innerRays({ positions, triangles }) {
  const rays = new Float32Array(6 * RAYS);
  const count = triangles.length / 3;
  for (let i = 0, o = 0; i < RAYS; i++, o += 6) {
    const h = 3 * Math.floor((i * count) / RAYS);
    const [p, q, r] = [0, 1, 2].map((k) => 3 * triangles[h + k]);
    const [ux, uy, uz] = [0, 1, 2].map((k) => positions[q + k] - positions[p + k]);
    const [vx, vy, vz] = [0, 1, 2].map((k) => positions[r + k] - positions[p + k]);
    const normal = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const length = Math.hypot(...normal) || 1;
    for (let k = 0; k < 3; k++) {
      const inward = -normal[k] / length;
      rays[o + k] = (positions[p + k] + positions[q + k] + positions[r + k]) / 3 + inward * 1e-3;
      rays[o + 3 + k] = inward;
    }
  }
  return rays;
}

import type { Mesh, Ring, Vec2, Vec3 } from '@stonehand/model';
import { type Plane, planeFrame, signedDistances } from './plane.ts';
import { loopAreaMm2, traceLoops } from './trace-loops.ts';

/** What a plane meets of a part. Rings are in the plane's frame: x along axisX, y along axisY, from the part's origin. */
export type CutSection = Readonly<{
  rings: readonly Ring[];
  areaMm2: number;
  /** length of all loops: the joint line, inside and outside */
  lineMm: number;
  axisX: Vec3;
  axisY: Vec3;
}>;

/**
 * The section of a closed mesh by a plane, from the side below (normal · p < offset).
 * @returns undefined when the plane misses the mesh or the outline does not close
 */
export function sectionOf(mesh: Mesh, plane: Plane): CutSection | undefined {
  const distances = signedDistances(mesh, plane);
  const [axisX, axisY] = planeFrame(plane.normal);
  const points: Vec2[] = [];
  const index = new Map<number, number>();
  const from: number[] = [];
  const to: number[] = [];
  const count = distances.length;
  const { positions: p, triangles } = mesh;
  const add = (key: number, x: number, y: number, z: number): number => {
    const known = index.get(key);
    if (known !== undefined) return known;
    index.set(key, points.length);
    const [gx, gy, gz] = [x + mesh.originMm[0], y + mesh.originMm[1], z + mesh.originMm[2]];
    points.push([axisX[0] * gx + axisX[1] * gy + axisX[2] * gz, axisY[0] * gx + axisY[1] * gy + axisY[2] * gz]);
    return points.length - 1;
  };
  const crossing = (v: number, w: number): number => {
    if (distances[v] === 0) return add(v * count + v, p[3 * v], p[3 * v + 1], p[3 * v + 2]);
    if (distances[w] === 0) return add(w * count + w, p[3 * w], p[3 * w + 1], p[3 * w + 2]);
    const low = Math.min(v, w);
    const high = Math.max(v, w);
    const share = distances[low] / (distances[low] - distances[high]);
    const at = (d: number): number => p[3 * low + d] + share * (p[3 * high + d] - p[3 * low + d]);
    return add(low * count + high, at(0), at(1), at(2));
  };
  for (let t = 0; t < triangles.length; t += 3) {
    // Vertices in the plane count as above it. Exactly one edge then goes down through it and one comes up.
    let enters = -1;
    let leaves = -1;
    for (let k = 0; k < 3; k++) {
      const v = triangles[t + k];
      const w = triangles[t + ((k + 1) % 3)];
      if (distances[v] >= 0 && distances[w] < 0) enters = crossing(v, w);
      if (distances[v] < 0 && distances[w] >= 0) leaves = crossing(v, w);
    }
    if (enters < 0 || enters === leaves) continue;
    // Walking from where the triangle sinks through the plane to where it rises keeps the material on the left.
    from.push(enters);
    to.push(leaves);
  }
  const point = (i: number): Vec2 => points[i];
  const loops = traceLoops(from, to, point);
  if (loops === undefined || loops.length === 0) return undefined;
  return {
    rings: loops.map((loop) => loop.map(point)),
    areaMm2: loops.reduce((sum, loop) => sum + loopAreaMm2(loop, point), 0),
    lineMm: from.reduce(
      (sum, a, e) => sum + Math.hypot(points[to[e]][0] - points[a][0], points[to[e]][1] - points[a][1]),
      0,
    ),
    axisX,
    axisY,
  };
}

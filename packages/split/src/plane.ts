import type { Mesh, Vec3 } from '@stonehand/model';

/**
 * A cut: the plane normal · p = offsetMm in the part's mesh coordinates, normal of length 1. It cuts every piece there is,
 * or only the piece that has the name `on` at that moment.
 */
export type Plane = Readonly<{ normal: Vec3; offsetMm: number; on?: string }>;

/** Vertices nearer to a plane than this share of the mesh's size count as on it: see DECISIONS.md, Snapping. */
export const SNAP_SHARE = 1e-9;

/** Two unit vectors that make a right-handed frame with the normal; whole axes stay whole axes. */
export function planeFrame(normal: Vec3): readonly [Vec3, Vec3] {
  const [x, y, z] = normal;
  const least = Math.abs(x) <= Math.abs(y) && Math.abs(x) <= Math.abs(z) ? 0 : Math.abs(y) <= Math.abs(z) ? 1 : 2;
  const axis = [0, 0, 0];
  axis[least] = 1;
  const along = normal[least];
  const u = unit([axis[0] - along * x, axis[1] - along * y, axis[2] - along * z]);
  return [u, [y * u[2] - z * u[1], z * u[0] - x * u[2], x * u[1] - y * u[0]]];
}

/** A vector of length 1 up to rounding stays as it is, so that doing it twice changes nothing. */
export function unit(v: Vec3): Vec3 {
  const length = Math.hypot(v[0], v[1], v[2]);
  if (Math.abs(length - 1) <= 4 * Number.EPSILON) return [v[0], v[1], v[2]];
  return [v[0] / length, v[1] / length, v[2] / length];
}

/** Signed distances of all vertices; those within the snap distance are exactly 0, so that every later question agrees. */
export function signedDistances(mesh: Mesh, plane: Plane): Float64Array {
  const [nx, ny, nz] = plane.normal;
  const [ox, oy, oz] = mesh.originMm;
  const offset = plane.offsetMm - (nx * ox + ny * oy + nz * oz);
  const p = mesh.positions;
  const snapMm = SNAP_SHARE * meshSize(p);
  const distances = new Float64Array(p.length / 3);
  for (let v = 0; v < distances.length; v++) {
    const d = nx * p[3 * v] + ny * p[3 * v + 1] + nz * p[3 * v + 2] - offset;
    distances[v] = Math.abs(d) <= snapMm ? 0 : d;
  }
  return distances;
}

/** Largest side of the box. */
function meshSize(p: ArrayLike<number>): number {
  let size = 0;
  for (let axis = 0; axis < 3; axis++) {
    let low = Infinity;
    let high = -Infinity;
    for (let i = axis; i < p.length; i += 3) {
      if (p[i] < low) low = p[i];
      if (p[i] > high) high = p[i];
    }
    size = Math.max(size, high - low);
  }
  return size;
}

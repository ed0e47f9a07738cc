import type { Mesh, Vec3 } from '@stonehand/model';

/** What is seen at each pixel: nearness to the eye (larger is nearer) and triangle number + 1, 0 for nothing. */
export type Raster = Readonly<{ width: number; height: number; depth: Float32Array; face: Uint32Array }>;

/** A parallel projection: screen x along right, screen y against up, nearness along eye (from the object to the eye). */
export type View = Readonly<{ right: Vec3; up: Vec3; eye: Vec3; pxPerMm: number; midU: number; midV: number }>;

/** azimuth 0 looks at the front (from −y), positive goes round to the right; elevation above the plate, negative from below. */
export function viewDirections(azimuthDeg: number, elevationDeg: number): Pick<View, 'right' | 'up' | 'eye'> {
  const a = (azimuthDeg * Math.PI) / 180;
  const e = (elevationDeg * Math.PI) / 180;
  const [ca, sa, ce, se] = [Math.cos(a), Math.sin(a), Math.cos(e), Math.sin(e)];
  return { right: [ca, sa, 0], up: [-se * sa, se * ca, ce], eye: [ce * sa, -ce * ca, se] };
}

/** Screen extent of the mesh in mm: minU, maxU, minV, maxV. */
export function screenExtent(mesh: Mesh, { right, up }: Pick<View, 'right' | 'up'>): [number, number, number, number] {
  const p = mesh.positions;
  let minU = Number.POSITIVE_INFINITY;
  let maxU = Number.NEGATIVE_INFINITY;
  let minV = Number.POSITIVE_INFINITY;
  let maxV = Number.NEGATIVE_INFINITY;
  for (let i = 0; i < p.length; i += 3) {
    const x = p[i]!;
    const y = p[i + 1]!;
    const z = p[i + 2]!;
    const u = right[0] * x + right[1] * y + right[2] * z;
    const v = up[0] * x + up[1] * y + up[2] * z;
    if (u < minU) minU = u;
    if (u > maxU) maxU = u;
    if (v < minV) minV = v;
    if (v > maxV) maxV = v;
  }
  return [minU, maxU, minV, maxV];
}

/**
 * Draws the triangles into a depth buffer. Both sides are drawn, so that an open or inside-out mesh shows as what it is.
 * With flattenZ every vertex is first moved to that height: the shadow under a light from straight above.
 */
export function rasterize(mesh: Mesh, view: View, width: number, height: number, flattenZ?: number): Raster {
  const depth = new Float32Array(width * height).fill(Number.NEGATIVE_INFINITY);
  const face = new Uint32Array(width * height);
  const screen = project(mesh, view, width, height, flattenZ);
  const tri = mesh.triangles;
  for (let t = 0; t < tri.length; t += 3) {
    const a = 3 * tri[t]!;
    const b = 3 * tri[t + 1]!;
    const c = 3 * tri[t + 2]!;
    const ax = screen[a]!;
    const ay = screen[a + 1]!;
    const bx = screen[b]!;
    const by = screen[b + 1]!;
    const cx = screen[c]!;
    const cy = screen[c + 1]!;
    const area = (bx - ax) * (cy - ay) - (cx - ax) * (by - ay);
    if (area === 0 || !Number.isFinite(area)) continue;
    const x0 = Math.max(0, Math.ceil(Math.min(ax, bx, cx) - 0.5));
    const x1 = Math.min(width - 1, Math.floor(Math.max(ax, bx, cx) - 0.5));
    const y0 = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5));
    const y1 = Math.min(height - 1, Math.floor(Math.max(ay, by, cy) - 0.5));
    if (x0 > x1 || y0 > y1) continue;
    const inv = 1 / area;
    // Barycentric weights are linear over the screen: one step right adds the x slope, one row down the y slope.
    const wbx = (cy - ay) * inv;
    const wby = -(cx - ax) * inv;
    const wcx = -(by - ay) * inv;
    const wcy = (bx - ax) * inv;
    const za = screen[a + 2]!;
    const zb = screen[b + 2]! - za;
    const zc = screen[c + 2]! - za;
    for (let y = y0; y <= y1; y++) {
      const dx = x0 + 0.5 - ax;
      const dy = y + 0.5 - ay;
      let wb = dx * wbx + dy * wby;
      let wc = dx * wcx + dy * wcy;
      let at = y * width + x0;
      for (let x = x0; x <= x1; x++, at++, wb += wbx, wc += wcx) {
        if (wb < 0 || wc < 0 || wb + wc > 1) continue;
        const z = za + wb * zb + wc * zc;
        if (z > depth[at]!) {
          depth[at] = z;
          face[at] = t / 3 + 1;
        }
      }
    }
  }
  return { width, height, depth, face };
}

function project(
  mesh: Mesh,
  { right, up, eye, pxPerMm, midU, midV }: View,
  width: number,
  height: number,
  flattenZ?: number,
): Float32Array {
  const p = mesh.positions;
  const out = new Float32Array(p.length);
  for (let i = 0; i < p.length; i += 3) {
    const x = p[i]!;
    const y = p[i + 1]!;
    const z = flattenZ ?? p[i + 2]!;
    out[i] = (right[0] * x + right[1] * y + right[2] * z - midU) * pxPerMm + width / 2;
    out[i + 1] = height / 2 - (up[0] * x + up[1] * y + up[2] * z - midV) * pxPerMm;
    out[i + 2] = eye[0] * x + eye[1] * y + eye[2] * z;
  }
  return out;
}

/** Unit normals, 3 a triangle; 0,0,0 for one without area. */
export function faceNormals(mesh: Mesh): Float32Array {
  const p = mesh.positions;
  const tri = mesh.triangles;
  const out = new Float32Array(tri.length);
  for (let t = 0; t < tri.length; t += 3) {
    const a = 3 * tri[t]!;
    const b = 3 * tri[t + 1]!;
    const c = 3 * tri[t + 2]!;
    const ux = p[b]! - p[a]!;
    const uy = p[b + 1]! - p[a + 1]!;
    const uz = p[b + 2]! - p[a + 2]!;
    const vx = p[c]! - p[a]!;
    const vy = p[c + 1]! - p[a + 1]!;
    const vz = p[c + 2]! - p[a + 2]!;
    const nx = uy * vz - uz * vy;
    const ny = uz * vx - ux * vz;
    const nz = ux * vy - uy * vx;
    const length = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (!(length > 0)) continue;
    out[t] = nx / length;
    out[t + 1] = ny / length;
    out[t + 2] = nz / length;
  }
  return out;
}

/** Lowest z of the mesh, in its own coordinates. */
export function lowestZ(mesh: Mesh): number {
  let low = Number.POSITIVE_INFINITY;
  for (let i = 2; i < mesh.positions.length; i += 3) low = Math.min(low, mesh.positions[i]!);
  return low;
}

/**
 * How far each triangle hangs over, in degrees from vertical: 0 for a wall or a face that looks up, 90 for a flat ceiling.
 * What lies on the plate (all three corners within onPlateMm of the lowest point) does not hang.
 */
export function overhangDegrees(mesh: Mesh, normals: Float32Array, onPlateMm: number = 0.05): Float32Array {
  const floor = lowestZ(mesh) + onPlateMm;
  const p = mesh.positions;
  const tri = mesh.triangles;
  const out = new Float32Array(tri.length / 3);
  for (let t = 0; t < tri.length; t += 3) {
    const nz = normals[t + 2]!;
    if (nz >= 0) continue;
    const high = Math.max(p[3 * tri[t]! + 2]!, p[3 * tri[t + 1]! + 2]!, p[3 * tri[t + 2]! + 2]!);
    if (high > floor) out[t / 3] = (Math.asin(Math.min(1, -nz)) * 180) / Math.PI;
  }
  return out;
}

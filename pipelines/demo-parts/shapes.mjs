// Building blocks over manifold-3d: lofts, tubes, bores, pockets. All in mm, z up.
import openManifold from 'manifold-3d';

const wasm = await openManifold();
wasm.setup();
export const { Manifold, CrossSection } = wasm;
const WasmMesh = wasm.Mesh;

export const DEG = Math.PI / 180;
export const mix = (a, b, t) => a + (b - a) * t;
export const clamp01 = (t) => Math.min(1, Math.max(0, t));
export const smooth = (t) => {
  const c = clamp01(t);
  return c * c * (3 - 2 * c);
};
export const bump = (x, centre, width) => Math.exp(-(((x - centre) / width) ** 2));

/** Smooth curve through [x, y] points (cubic with Catmull–Rom slopes), constant outside. */
export function curve(points) {
  return (x) => {
    const last = points.length - 1;
    if (x <= points[0][0]) return points[0][1];
    if (x >= points[last][0]) return points[last][1];
    let i = 0;
    while (x > points[i + 1][0]) i++;
    const slope = (k) => {
      const a = points[Math.max(0, k - 1)];
      const b = points[Math.min(last, k + 1)];
      return (b[1] - a[1]) / (b[0] - a[0]);
    };
    const [x0, y0] = points[i];
    const [x1, y1] = points[i + 1];
    const h = x1 - x0;
    const t = (x - x0) / h;
    const t2 = t * t;
    const t3 = t2 * t;
    return (
      y0 * (2 * t3 - 3 * t2 + 1) +
      h * slope(i) * (t3 - 2 * t2 + t) +
      y1 * (3 * t2 - 2 * t3) +
      h * slope(i + 1) * (t3 - t2)
    );
  };
}

/** A skin over rings of equally many points; an end is closed by a fan around the middle of its ring, or around `poles`. */
export function skin(rings, poles = []) {
  const m = rings[0].length;
  const n = rings.length;
  const points = rings.flat();
  const triangles = [];
  for (let i = 0; i + 1 < n; i++) {
    for (let j = 0; j < m; j++) {
      const a = i * m + j;
      const b = i * m + ((j + 1) % m);
      triangles.push([a, b, b + m], [a, b + m, a + m]);
    }
  }
  const middle = (ring) => [0, 1, 2].map((k) => ring.reduce((sum, p) => sum + p[k], 0) / m);
  points.push(poles[0] ?? middle(rings[0]), poles[1] ?? middle(rings[n - 1]));
  for (let j = 0; j < m; j++) {
    const k = (j + 1) % m;
    triangles.push([k, j, n * m], [(n - 1) * m + j, (n - 1) * m + k, n * m + 1]);
  }
  return { points, triangles };
}

/** The same skin with every point moved inwards along its normal. */
export function inset({ points, triangles }, depthMm) {
  const normals = points.map(() => [0, 0, 0]);
  for (const [a, b, c] of triangles) {
    const u = sub(points[b], points[a]);
    const v = sub(points[c], points[a]);
    const w = cross(u, v);
    for (const k of [a, b, c]) for (let d = 0; d < 3; d++) normals[k][d] += w[d];
  }
  const side = Math.sign(skinVolume({ points, triangles }));
  return {
    triangles,
    points: points.map((p, i) => {
      const length = Math.hypot(...normals[i]) || 1;
      return p.map((value, d) => value - (side * depthMm * normals[i][d]) / length);
    }),
  };
}

export function solid(surface) {
  const { points, triangles } = surface;
  const turn = skinVolume(surface) < 0;
  const made = new Manifold(
    new WasmMesh({
      numProp: 3,
      vertProperties: new Float32Array(points.flat()),
      triVerts: new Uint32Array(triangles.flatMap(([a, b, c]) => (turn ? [a, c, b] : [a, b, c]))),
    }),
  );
  const status = made.status();
  if (status !== 'NoError' && status !== 0 && status?.value !== 0) throw new Error(`skin is not closed: ${status}`);
  return made;
}

function skinVolume({ points, triangles }) {
  let six = 0;
  for (const [a, b, c] of triangles) six += dot(points[a], cross(points[b], points[c]));
  return six / 6;
}

/**
 * A rounded body along x. at(x, angle) gives y and z of the skin; `ends` are the two poles.
 * Stations crowd towards the poles, where the skin turns round.
 */
export function bodySkin({ fromX, toX, stations, around, at, poles }) {
  const rings = [];
  for (let i = 1; i < stations; i++) {
    const x = fromX + ((toX - fromX) * (1 - Math.cos((Math.PI * i) / stations))) / 2;
    rings.push(
      Array.from({ length: around }, (_, j) => {
        const [y, z] = at(x, (2 * Math.PI * j) / around);
        return [x, y, z];
      }),
    );
  }
  return skin(rings, poles);
}

/** A ring swept along points, its size given by radius(share, angle); parallel transport keeps it from twisting. */
export function sweep(path, radius, around = 32) {
  const rings = [];
  let side;
  for (let i = 0; i < path.length; i++) {
    const ahead = unit(sub(path[Math.min(i + 1, path.length - 1)], path[Math.max(i - 1, 0)]));
    if (!side) side = Math.abs(ahead[2]) < 0.9 ? [0, 0, 1] : [1, 0, 0];
    side = unit(sub(side, scaled(ahead, dot(side, ahead))));
    const up = cross(ahead, side);
    const share = i / (path.length - 1);
    rings.push(
      Array.from({ length: around }, (_, j) => {
        const angle = (2 * Math.PI * j) / around;
        const r = radius(share, angle);
        const c = r * Math.cos(angle);
        const s = r * Math.sin(angle);
        return path[i].map((p, d) => p + c * side[d] + s * up[d]);
      }),
    );
  }
  return solid(skin(rings));
}

const AXIS_TURN = { x: [0, 90, 0], y: [-90, 0, 0], z: [0, 0, 0] };

/** Cylinder whose middle (or, with `from`, foot) is at a point, along an axis. */
export function rod(r, length, { at = [0, 0, 0], axis = 'z', r2 = r, from = false, around = 40 } = {}) {
  return Manifold.cylinder(length, r, r2, around, !from).rotate(AXIS_TURN[axis]).translate(at);
}

export function block(size, at = [0, 0, 0]) {
  return Manifold.cube(size, true).translate(at);
}

/** Hexagon for a nut: across flats, depth from its foot upwards along the axis. */
export function hexagon(acrossMm, depthMm, { at = [0, 0, 0], axis = 'z', from = true, turn = 0 } = {}) {
  return Manifold.cylinder(depthMm, acrossMm / Math.sqrt(3), acrossMm / Math.sqrt(3), 6, !from)
    .rotate([0, 0, turn])
    .rotate(AXIS_TURN[axis])
    .translate(at);
}

/** Rectangle with rounded corners, middle at 0, 0. */
export function roundedPlate(xMm, yMm, radiusMm) {
  return CrossSection.square([xMm - 2 * radiusMm, yMm - 2 * radiusMm], true).offset(radiusMm, 'Round', 2, 48);
}

export const outline = (points) => new CrossSection([points]);
export const union = (...solids) => Manifold.union(solids.flat());
export const spread = (count, make) => Array.from({ length: count }, (_, i) => make(i));

function sub(a, b) {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}
function scaled(a, s) {
  return [a[0] * s, a[1] * s, a[2] * s];
}
function dot(a, b) {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}
function cross(a, b) {
  return [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
}
function unit(a) {
  return scaled(a, 1 / Math.hypot(...a));
}

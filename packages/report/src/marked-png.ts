import type { Mesh, Vec3 } from '@stonehand/model';
import { encode } from 'fast-png';
import { type Canvas, drawPanel, drawRuler, MARGIN_PX, type Rgb, SAMPLES } from './pose-png.ts';
import { faceNormals, type Raster, screenExtent, type View, viewDirections } from './raster.ts';

/** Places of one kind on a mesh: edges as pairs of vertices, triangles by number, single points in mm. */
export type Mark = Readonly<{
  colour: Rgb;
  edges?: ArrayLike<number>;
  triangles?: ArrayLike<number>;
  points?: readonly Vec3[];
}>;

export type MarkedPngOptions = Readonly<{ widthPx?: number; heightPx?: number }>;

// Two sides of one diagonal: what is hidden in one view faces the eye in the other.
const VIEWS: readonly (readonly [azimuthDeg: number, elevationDeg: number])[] = [
  [28, 26],
  [208, -32],
];
const HIDDEN = 0.3; // opacity of a mark behind the surface

/**
 * A mesh from the front above and from the back below, with places marked: edges as lines, faces filled, points and small rims
 * ringed. What lies behind the surface is drawn faintly. The same mesh and marks give the same bytes.
 */
export function markedPng(
  mesh: Mesh,
  marks: readonly Mark[],
  { widthPx = 880, heightPx = 420 }: MarkedPngOptions = {},
): Uint8Array {
  const canvas: Canvas = { width: widthPx, height: heightPx, data: new Uint8Array(4 * widthPx * heightPx) };
  const letter = Math.max(1, Math.round(widthPx / 300));
  const drawPx = heightPx - 8 - 7 * letter;
  const panelPx = Math.floor(widthPx / VIEWS.length);
  // Room for the rings around places at the outline.
  const marginPx = MARGIN_PX + 4 * letter;
  const directions = VIEWS.map(([azimuth, elevation]) => viewDirections(azimuth, elevation));
  const extents = directions.map((direction) => screenExtent(mesh, direction));
  const pxPerMm = Math.min(
    ...extents.map(([u0, u1, v0, v1]) =>
      Math.min((panelPx - 2 * marginPx) / Math.max(1e-6, u1 - u0), (drawPx - 2 * marginPx) / Math.max(1e-6, v1 - v0)),
    ),
  );
  const normals = faceNormals(mesh);
  // Nothing is coloured by how far it hangs over.
  const level = new Float32Array(mesh.triangles.length / 3);
  const marked = markedFaces(mesh, marks);
  const colourOf = (face: number): Rgb | undefined => marks[marked[face]! - 1]?.colour;
  directions.forEach((direction, i) => {
    const [u0, u1, v0, v1] = extents[i]!;
    const view: View = { ...direction, pxPerMm: pxPerMm * SAMPLES, midU: (u0 + u1) / 2, midV: (v0 + v1) / 2 };
    const panel = { left: i * panelPx, width: panelPx, height: drawPx, limitDeg: 90, shadow: false, colourOf };
    const seen = drawPanel(canvas, mesh, view, normals, level, panel);
    const pen = penOf(canvas, seen, view, panel.left, letter);
    for (const mark of marks) drawMark(mesh, mark, pen);
  });
  drawRuler(canvas, pxPerMm, panelPx, letter);
  return encode({ width: widthPx, height: heightPx, data: canvas.data, channels: 4, depth: 8 }, { zlib: { level: 6 } });
}

function markedFaces(mesh: Mesh, marks: readonly Mark[]): Uint8Array {
  const marked = new Uint8Array(mesh.triangles.length / 3);
  for (const [i, { triangles = [] }] of marks.entries()) for (const t of Array.from(triangles)) marked[t] = i + 1;
  return marked;
}

interface Pen {
  line(a: Vec3, b: Vec3, colour: Rgb): void;
  ring(at: Vec3, colour: Rgb): void;
  readonly ringMm: number;
}

function drawMark(mesh: Mesh, { colour, edges = [], points = [] }: Mark, pen: Pen): void {
  const corner = (v: number): Vec3 => [mesh.positions[3 * v]!, mesh.positions[3 * v + 1]!, mesh.positions[3 * v + 2]!];
  for (let i = 0; i < edges.length; i += 2) pen.line(corner(edges[i]!), corner(edges[i + 1]!), colour);
  for (const at of [...points, ...smallClusters(edges, corner, pen.ringMm)]) pen.ring(at, colour);
}

const MOST_RINGS = 40;

/** Middles of the groups of connected edges that are too small to be seen as lines. */
function smallClusters(edges: ArrayLike<number>, corner: (v: number) => Vec3, ringMm: number): Vec3[] {
  const root = new Map<number, number>();
  const find = (v: number): number => {
    let at = v;
    while (root.get(at) !== undefined && root.get(at) !== at) at = root.get(at)!;
    root.set(v, at);
    return at;
  };
  for (let i = 0; i < edges.length; i += 2) root.set(find(edges[i]!), find(edges[i + 1]!));
  const boxes = new Map<number, { min: number[]; max: number[] }>();
  for (const v of root.keys()) {
    const p = corner(v);
    const box = boxes.get(find(v)) ?? { min: [...p], max: [...p] };
    boxes.set(find(v), {
      min: box.min.map((low, k) => Math.min(low, p[k]!)),
      max: box.max.map((high, k) => Math.max(high, p[k]!)),
    });
  }
  return [...boxes.values()]
    .filter(({ min, max }) => Math.hypot(...max.map((high, k) => high - min[k]!)) < ringMm)
    .slice(0, MOST_RINGS)
    .map(({ min, max }) => [(min[0]! + max[0]!) / 2, (min[1]! + max[1]!) / 2, (min[2]! + max[2]!) / 2]);
}

function penOf(canvas: Canvas, seen: Raster, view: View, left: number, letter: number): Pen {
  const width = seen.width / SAMPLES;
  const height = seen.height / SAMPLES;
  const pxPerMm = view.pxPerMm / SAMPLES;
  // A place lies on the surface: nearer than two pixels of depth behind what is seen it is not hidden.
  const slackMm = 2.5 / pxPerMm;
  const onScreen = ([x, y, z]: Vec3): readonly [number, number, number] => [
    (view.right[0] * x + view.right[1] * y + view.right[2] * z - view.midU) * pxPerMm + width / 2,
    height / 2 - (view.up[0] * x + view.up[1] * y + view.up[2] * z - view.midV) * pxPerMm,
    view.eye[0] * x + view.eye[1] * y + view.eye[2] * z,
  ];
  const isHidden = (x: number, y: number, depth: number): boolean => {
    const [sx, sy] = [Math.round(x * SAMPLES), Math.round(y * SAMPLES)];
    if (sx < 0 || sy < 0 || sx >= seen.width || sy >= seen.height) return false;
    return depth < seen.depth[sy * seen.width + sx]! - slackMm;
  };
  const stroke = (x: number, y: number, radius: number, colour: Rgb, opacity: number): void => {
    for (let py = Math.floor(y - radius); py <= Math.ceil(y + radius); py++) {
      for (let px = Math.floor(x - radius); px <= Math.ceil(x + radius); px++) {
        if (px < 0 || py < 0 || px >= width || py >= height) continue;
        const cover = Math.min(1, Math.max(0, radius + 0.5 - Math.hypot(px - x, py - y)));
        if (cover > 0) blend(canvas, left + px, py, colour, cover * opacity);
      }
    }
  };
  const ringPx = 4.5 * letter;
  return {
    ringMm: (2 * ringPx) / pxPerMm,
    line(a, b, colour) {
      const [p, q] = [onScreen(a), onScreen(b)];
      const steps = Math.max(1, Math.ceil(2 * Math.hypot(q[0] - p[0], q[1] - p[1])));
      for (let i = 0; i <= steps; i++) {
        const s = i / steps;
        const [x, y, depth] = [p[0] + s * (q[0] - p[0]), p[1] + s * (q[1] - p[1]), p[2] + s * (q[2] - p[2])];
        stroke(x, y, 0.55 * letter, colour, isHidden(x, y, depth) ? HIDDEN / 3 : 1);
      }
    },
    ring(at, colour) {
      const [x, y, depth] = onScreen(at);
      const opacity = isHidden(x, y, depth) ? HIDDEN / 3 : 1;
      const steps = Math.ceil(2 * Math.PI * ringPx * 2);
      for (let i = 0; i < steps; i++) {
        const angle = (2 * Math.PI * i) / steps;
        stroke(x + ringPx * Math.cos(angle), y + ringPx * Math.sin(angle), 0.4 * letter, colour, opacity);
      }
    },
  };
}

/** A colour laid over what is there, the transparent ground included. */
function blend({ width, data }: Canvas, x: number, y: number, colour: Rgb, opacity: number): void {
  const at = 4 * (y * width + x);
  const under = data[at + 3]! / 255;
  const over = opacity + under * (1 - opacity);
  for (let k = 0; k < 3; k++) {
    data[at + k] = Math.round((colour[k]! * opacity + data[at + k]! * under * (1 - opacity)) / over);
  }
  data[at + 3] = Math.round(255 * over);
}

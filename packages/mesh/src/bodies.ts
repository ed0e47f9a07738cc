import type { Mesh } from '@stonehand/model';

/** The bodies of a mesh: triangles linked by shared vertices, in the order of their first triangle. Figures in the mesh's numbers. */
export type Bodies = Readonly<{
  count: number;
  /** per triangle; NO_BODY for collapsed ones */
  bodyOf: Uint32Array;
  /** body b owns triangles list[start[b]] … list[start[b + 1] − 1] */
  start: Uint32Array;
  list: Uint32Array;
  /** signed; of an open body it depends on the point from which it is summed, which is its first corner */
  volume: Float64Array;
  area: Float64Array;
  /** six numbers per body, without the mesh's offset */
  boxes: Float64Array;
  /** 1 where every half-edge of the body has a twin */
  closed: Uint8Array;
}>;

export const NO_BODY = 0xffffffff;

/** @param twins of halfEdgeTwins(mesh) */
export function bodiesOf(mesh: Mesh, twins: Int32Array): Bodies {
  const { bodyOf, count } = labelBodies(mesh);
  const start = new Uint32Array(count + 2);
  for (const b of bodyOf) if (b !== NO_BODY) start[b + 2]++;
  for (let b = 2; b < start.length; b++) start[b] += start[b - 1];
  const list = new Uint32Array(start[count + 1]);
  for (let t = 0; t < bodyOf.length; t++) if (bodyOf[t] !== NO_BODY) list[start[bodyOf[t] + 1]++] = t;
  const closed = new Uint8Array(count).fill(1);
  for (let h = 0; h < twins.length; h++) if (twins[h] < 0) closed[bodyOf[(h - (h % 3)) / 3]] = 0;
  return { count, bodyOf, start: start.subarray(0, count + 1), list, closed, ...figures(mesh, count, start, list) };
}

/** Union-find over vertices; a body is numbered when its first triangle comes by. */
function labelBodies({ positions, triangles }: Mesh): { bodyOf: Uint32Array; count: number } {
  const parent = new Int32Array(positions.length / 3);
  for (let v = 0; v < parent.length; v++) parent[v] = v;
  const root = (vertex: number): number => {
    let v = vertex;
    while (parent[v] !== v) {
      parent[v] = parent[parent[v]];
      v = parent[v];
    }
    return v;
  };
  for (let h = 0; h < triangles.length; h += 3) {
    if (isCollapsed(triangles, h)) continue;
    const a = root(triangles[h]);
    const b = root(triangles[h + 1]);
    const c = root(triangles[h + 2]);
    const low = Math.min(a, b, c);
    parent[a] = low;
    parent[b] = low;
    parent[c] = low;
  }
  const bodyOf = new Uint32Array(triangles.length / 3).fill(NO_BODY);
  const bodyAt = new Uint32Array(parent.length).fill(NO_BODY);
  let count = 0;
  for (let t = 0; t < bodyOf.length; t++) {
    if (isCollapsed(triangles, 3 * t)) continue;
    const v = root(triangles[3 * t]);
    if (bodyAt[v] === NO_BODY) bodyAt[v] = count++;
    bodyOf[t] = bodyAt[v];
  }
  return { bodyOf, count };
}

export function isCollapsed(triangles: Uint32Array, h: number): boolean {
  const a = triangles[h];
  const b = triangles[h + 1];
  const c = triangles[h + 2];
  return a === b || b === c || c === a;
}

function figures(
  { positions: p, triangles }: Mesh,
  count: number,
  start: Uint32Array,
  list: Uint32Array,
): Pick<Bodies, 'volume' | 'area' | 'boxes'> {
  const volume = new Float64Array(count);
  const area = new Float64Array(count);
  const boxes = new Float64Array(6 * count);
  for (let body = 0; body < count; body++) {
    const o = 6 * body;
    boxes.fill(Infinity, o, o + 3);
    boxes.fill(-Infinity, o + 3, o + 6);
    const first = 3 * triangles[3 * list[start[body]]];
    const ox = p[first];
    const oy = p[first + 1];
    const oz = p[first + 2];
    let six = 0;
    let twice = 0;
    for (let i = start[body]; i < start[body + 1]; i++) {
      const h = 3 * list[i];
      const a = 3 * triangles[h];
      const b = 3 * triangles[h + 1];
      const c = 3 * triangles[h + 2];
      for (let k = 0; k < 3; k++) {
        boxes[o + k] = Math.min(boxes[o + k], p[a + k], p[b + k], p[c + k]);
        boxes[o + 3 + k] = Math.max(boxes[o + 3 + k], p[a + k], p[b + k], p[c + k]);
      }
      const ux = p[b] - p[a];
      const uy = p[b + 1] - p[a + 1];
      const uz = p[b + 2] - p[a + 2];
      const vx = p[c] - p[a];
      const vy = p[c + 1] - p[a + 1];
      const vz = p[c + 2] - p[a + 2];
      const nx = uy * vz - uz * vy;
      const ny = uz * vx - ux * vz;
      const nz = ux * vy - uy * vx;
      twice += Math.sqrt(nx * nx + ny * ny + nz * nz);
      six += (p[a] - ox) * nx + (p[a + 1] - oy) * ny + (p[a + 2] - oz) * nz;
    }
    volume[body] = six / 6;
    area[body] = twice / 2;
  }
  return { volume, area, boxes };
}

import { side } from './side.ts';

export const NONE = -1;

// Shewchuk's bound A of orient3d, (7 + 56·2⁻⁵³)·2⁻⁵³, for the determinant in the form that `isAbove` computes.
const ORIENT_BOUND = 7.771561172376103e-16;

/**
 * The growing surface of a convex hull: triangles with their neighbours across each edge, and for each triangle the
 * list of points strictly above it. A class because it grows in place. Edge e of facet f is half-edge 3·f + e, from
 * corner e to corner e + 1; twin holds the opposite half-edge. Cross products and bounds are kept per facet, so that
 * the exact predicate is asked only when the sign is in doubt.
 */
export class HullFacets {
  corner: Int32Array = new Int32Array(3 * 1024);
  twin: Int32Array = new Int32Array(3 * 1024);
  mark: Uint8Array = new Uint8Array(1024);
  farthest: Int32Array = new Int32Array(1024);
  readonly #p: ArrayLike<number>;
  readonly #next: Int32Array;
  #first = new Int32Array(1024);
  #distance = new Float64Array(1024);
  #plane = new Float64Array(4 * 1024);
  #size = 0;
  readonly #free: number[] = [];
  readonly #waiting: number[] = [];
  readonly #extent = [0, 0, 0];

  constructor(p: ArrayLike<number>, start: readonly [number, number, number, number]) {
    this.#p = p;
    this.#next = new Int32Array(p.length / 3).fill(NONE);
    for (let axis = 0; axis < 3; axis++) {
      let low = Infinity;
      let high = -Infinity;
      for (let i = axis; i < p.length; i += 3) {
        if (p[i] < low) low = p[i];
        if (p[i] > high) high = p[i];
      }
      this.#extent[axis] = high - low;
    }
    const [a, b, c, d] = start;
    // d lies below a, b, c, so each of these is counter-clockwise from outside.
    const facets = [this.#make(a, b, c), this.#make(b, a, d), this.#make(c, b, d), this.#make(a, c, d)];
    for (let e = 0; e < 3; e++) {
      this.join(facets[0], e, facets[1 + e], 0);
      this.join(facets[1 + e], 1, facets[1 + ((e + 2) % 3)], 2);
    }
    for (let i = 0; i < p.length / 3; i++) this.#place(i, facets);
    this.#queue(facets);
  }

  /** A facet with points above it, or NONE when the surface is finished. */
  nextWithOutside(): number {
    for (let facet = this.#waiting.pop(); facet !== undefined; facet = this.#waiting.pop()) {
      if (this.mark[facet] === 0 && this.#first[facet] !== NONE) return facet;
    }
    return NONE;
  }

  /** Whether the point is strictly above the facet. */
  isAbove(facet: number, point: number): boolean {
    const size = this.#above(facet, point);
    const band = this.#plane[4 * facet + 3];
    if (size > band) return true;
    if (size < -band) return false;
    const corner = this.corner;
    return side(this.#p, corner[3 * facet], corner[3 * facet + 1], corner[3 * facet + 2], point) > 0;
  }

  /** A facet from the outer half-edge `edge` of the horizon to the apex, joined across that edge. */
  coneFacet(edge: number, apex: number): number {
    const from = this.corner[edge];
    const to = this.corner[edge % 3 === 2 ? edge - 2 : edge + 1];
    const made = this.#make(to, from, apex);
    this.join(made, 0, (edge / 3) | 0, edge % 3);
    return made;
  }

  join(a: number, edgeOfA: number, b: number, edgeOfB: number): void {
    this.twin[3 * a + edgeOfA] = 3 * b + edgeOfB;
    this.twin[3 * b + edgeOfB] = 3 * a + edgeOfA;
  }

  /** Gives the points above the dead facets to the fresh ones and frees the dead. */
  handOver(dead: readonly number[], fresh: readonly number[], apex: number): void {
    for (const facet of dead) {
      let point = this.#first[facet];
      while (point !== NONE) {
        const after = this.#next[point];
        if (point !== apex) this.#place(point, fresh);
        point = after;
      }
      this.#first[facet] = NONE;
      this.#free.push(facet);
    }
    this.#queue(fresh);
  }

  surface(): { vertices: Uint32Array; triangles: Uint32Array } {
    const triangles: number[] = [];
    const used = new Uint8Array(this.#p.length / 3);
    let vertices = 0;
    for (let f = 0; f < this.#size; f++) {
      if (this.mark[f] === 1) continue;
      for (let e = 3 * f; e < 3 * f + 3; e++) {
        const point = this.corner[e];
        vertices += 1 - used[point];
        used[point] = 1;
        triangles.push(point);
      }
    }
    const list = new Uint32Array(vertices);
    for (let i = 0, k = 0; i < used.length; i++) if (used[i] === 1) list[k++] = i;
    return { vertices: list, triangles: Uint32Array.from(triangles) };
  }

  #place(point: number, facets: readonly number[]): void {
    for (const facet of facets) {
      if (!this.isAbove(facet, point)) continue;
      this.#next[point] = this.#first[facet];
      this.#first[facet] = point;
      const distance = this.#above(facet, point);
      if (distance > this.#distance[facet]) {
        this.#distance[facet] = distance;
        this.farthest[facet] = point;
      } else if (this.farthest[facet] === NONE) {
        this.farthest[facet] = point;
      }
      return;
    }
  }

  #queue(facets: readonly number[]): void {
    for (const facet of facets) if (this.#first[facet] !== NONE) this.#waiting.push(facet);
  }

  /** Six times the volume of facet and point, rounded. */
  #above(facet: number, point: number): number {
    const p = this.#p;
    const a = 3 * this.corner[3 * facet];
    const k = 4 * facet;
    const plane = this.#plane;
    return (
      plane[k] * (p[3 * point] - p[a]) +
      plane[k + 1] * (p[3 * point + 1] - p[a + 1]) +
      plane[k + 2] * (p[3 * point + 2] - p[a + 2])
    );
  }

  #make(a: number, b: number, c: number): number {
    const facet = this.#free.pop() ?? this.#size++;
    if (facet >= this.mark.length) this.#grow();
    this.corner[3 * facet] = a;
    this.corner[3 * facet + 1] = b;
    this.corner[3 * facet + 2] = c;
    this.mark[facet] = 0;
    this.farthest[facet] = NONE;
    this.#first[facet] = NONE;
    this.#distance[facet] = 0;
    const p = this.#p;
    const ux = p[3 * b] - p[3 * a];
    const uy = p[3 * b + 1] - p[3 * a + 1];
    const uz = p[3 * b + 2] - p[3 * a + 2];
    const vx = p[3 * c] - p[3 * a];
    const vy = p[3 * c + 1] - p[3 * a + 1];
    const vz = p[3 * c + 2] - p[3 * a + 2];
    const plane = this.#plane;
    plane[4 * facet] = uy * vz - uz * vy;
    plane[4 * facet + 1] = uz * vx - ux * vz;
    plane[4 * facet + 2] = ux * vy - uy * vx;
    plane[4 * facet + 3] =
      ORIENT_BOUND *
      ((Math.abs(uy * vz) + Math.abs(uz * vy)) * this.#extent[0] +
        (Math.abs(uz * vx) + Math.abs(ux * vz)) * this.#extent[1] +
        (Math.abs(ux * vy) + Math.abs(uy * vx)) * this.#extent[2]);
    return facet;
  }

  #grow(): void {
    const size = 2 * this.mark.length;
    this.corner = grown(this.corner, new Int32Array(3 * size));
    this.twin = grown(this.twin, new Int32Array(3 * size));
    this.mark = grown(this.mark, new Uint8Array(size));
    this.farthest = grown(this.farthest, new Int32Array(size));
    this.#first = grown(this.#first, new Int32Array(size));
    this.#distance = grown(this.#distance, new Float64Array(size));
    this.#plane = grown(this.#plane, new Float64Array(4 * size));
  }
}

function grown<T extends Int32Array | Uint8Array | Float64Array>(old: T, larger: T): T {
  larger.set(old);
  return larger;
}

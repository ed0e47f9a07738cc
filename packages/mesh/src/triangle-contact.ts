import { orient2d, orient3d } from 'robust-predicates';

/** How two triangles meet. Exact: signs come from adaptive predicates (Shewchuk 1997), coordinates are taken as they are. */
export const APART = 0;
/** a common point beyond their common corners and edge, without one passing through the other's inside: contact, overlap in one plane, a copy */
export const TOUCHING = 1;
/** an edge of one passes through the inside of the other, or both lie in one plane, face the same way and overlap */
export const CROSSING = 2;

/**
 * Whether two triangles have a point in common that is not on a corner or edge they share by number: the convention of
 * CGAL, "Polygon Mesh Processing", section "Self intersections".
 * @param p 3·n coordinates
 * @param s first of the three corners of one triangle in `triangles`, t of the other
 */
export function contactOf(p: Float64Array, triangles: Uint32Array, s: number, t: number): number {
  const a = triangles[s];
  const b = triangles[s + 1];
  const c = triangles[s + 2];
  const d = triangles[t];
  const e = triangles[t + 1];
  const f = triangles[t + 2];
  const sharesA = a === d || a === e || a === f;
  const sharesB = b === d || b === e || b === f;
  const sharesC = c === d || c === e || c === f;
  if (!sharesA && !sharesB && !sharesC) return contactApart(p, a, b, c, d, e, f);
  if (sharesA && sharesB && sharesC) return TOUCHING;
  if (sharesA && sharesB) return contactAcrossEdge(p, a, b, c, thirdCorner(d, e, f, a, b));
  if (sharesB && sharesC) return contactAcrossEdge(p, b, c, a, thirdCorner(d, e, f, b, c));
  if (sharesC && sharesA) return contactAcrossEdge(p, c, a, b, thirdCorner(d, e, f, c, a));
  if (sharesA) return contactAtCorner(p, a, b, c, d, e, f);
  if (sharesB) return contactAtCorner(p, b, c, a, d, e, f);
  return contactAtCorner(p, c, a, b, d, e, f);
}

function thirdCorner(d: number, e: number, f: number, u: number, v: number): number {
  if (d !== u && d !== v) return d;
  return e !== u && e !== v ? e : f;
}

function contactApart(p: Float64Array, a: number, b: number, c: number, d: number, e: number, f: number): number {
  const sd = side(p, a, b, c, d);
  const se = side(p, a, b, c, e);
  const sf = side(p, a, b, c, f);
  if ((sd > 0 && se > 0 && sf > 0) || (sd < 0 && se < 0 && sf < 0)) return APART;
  const sa = side(p, d, e, f, a);
  const sb = side(p, d, e, f, b);
  const sc = side(p, d, e, f, c);
  if ((sa > 0 && sb > 0 && sc > 0) || (sa < 0 && sb < 0 && sc < 0)) return APART;
  if (sd === 0 && se === 0 && sf === 0 && overlapInPlane(p, a, b, c, d, e, f)) return CROSSING;
  // Two closed triangles meet exactly if an edge of one meets the other.
  let contact = edgeContact(p, d, e, sd, se, a, b, c);
  if (contact < CROSSING) contact = Math.max(contact, edgeContact(p, e, f, se, sf, a, b, c));
  if (contact < CROSSING) contact = Math.max(contact, edgeContact(p, f, d, sf, sd, a, b, c));
  if (contact < CROSSING) contact = Math.max(contact, edgeContact(p, a, b, sa, sb, d, e, f));
  if (contact < CROSSING) contact = Math.max(contact, edgeContact(p, b, c, sb, sc, d, e, f));
  if (contact < CROSSING) contact = Math.max(contact, edgeContact(p, c, a, sc, sa, d, e, f));
  return contact;
}

/** Triangles u v x and u v y with the edge u v in common: they meet beyond it only when folded flat onto each other. */
function contactAcrossEdge(p: Float64Array, u: number, v: number, x: number, y: number): number {
  if (side(p, u, v, x, y) !== 0) return APART;
  for (let axis = 0; axis < 3; axis++) {
    const sx = turn(p, axis, u, v, x);
    if (sx === 0) continue;
    return sx * turn(p, axis, u, v, y) > 0 ? TOUCHING : APART;
  }
  return APART;
}

/** Triangle v a b against d e f, which contains v. What they have in common beyond v reaches the far edge of one of them. */
function contactAtCorner(p: Float64Array, v: number, a: number, b: number, d: number, e: number, f: number): number {
  const g = d === v ? e : d;
  const h = f === v ? e : f;
  const sg = side(p, v, a, b, g);
  const sh = side(p, v, a, b, h);
  if ((sg > 0 && sh > 0) || (sg < 0 && sh < 0)) return APART;
  const sa = side(p, v, g, h, a);
  const sb = side(p, v, g, h, b);
  if ((sa > 0 && sb > 0) || (sa < 0 && sb < 0)) return APART;
  if (sg === 0 && sh === 0 && overlapInPlane(p, v, a, b, d, e, f)) return CROSSING;
  const contact = edgeContact(p, g, h, sg, sh, v, a, b);
  return contact === CROSSING ? contact : Math.max(contact, edgeContact(p, a, b, sa, sb, v, g, h));
}

/** Edge q r against triangle a b c; sq and sr are the sides of the triangle's plane on which its ends lie. */
function edgeContact(
  p: Float64Array,
  q: number,
  r: number,
  sq: number,
  sr: number,
  a: number,
  b: number,
  c: number,
): number {
  if ((sq > 0 && sr > 0) || (sq < 0 && sr < 0)) return APART;
  if (sq === 0 && sr === 0) return edgeContactInPlane(p, q, r, a, b, c);
  const ab = side(p, q, r, a, b);
  const bc = side(p, q, r, b, c);
  if ((ab > 0 && bc < 0) || (ab < 0 && bc > 0)) return APART;
  const ca = side(p, q, r, c, a);
  const above = ab >= 0 && bc >= 0 && ca >= 0;
  const below = ab <= 0 && bc <= 0 && ca <= 0;
  if (!above && !below) return APART;
  const strictly = sq !== 0 && sr !== 0 && ab !== 0 && bc !== 0 && ca !== 0;
  return strictly ? CROSSING : TOUCHING;
}

function edgeContactInPlane(p: Float64Array, q: number, r: number, a: number, b: number, c: number): number {
  for (let axis = 0; axis < 3; axis++) {
    const facing = turn(p, axis, a, b, c);
    if (facing === 0) continue; // seen edge-on along this axis
    const inside =
      facing * turn(p, axis, a, b, q) >= 0 &&
      facing * turn(p, axis, b, c, q) >= 0 &&
      facing * turn(p, axis, c, a, q) >= 0;
    const meets =
      inside || edgesMeet(p, axis, q, r, a, b) || edgesMeet(p, axis, q, r, b, c) || edgesMeet(p, axis, q, r, c, a);
    return meets ? TOUCHING : APART;
  }
  return APART; // a triangle whose corners lie on a line has no inside; its neighbours carry the contact
}

/** Triangles in one plane that face the same way: whether their insides overlap, that is, no edge of either parts them. */
function overlapInPlane(p: Float64Array, a: number, b: number, c: number, d: number, e: number, f: number): boolean {
  for (let axis = 0; axis < 3; axis++) {
    const facing = turn(p, axis, a, b, c);
    if (facing === 0) continue;
    if (facing * turn(p, axis, d, e, f) <= 0) return false;
    return (
      !parts(p, axis, facing, a, b, d, e, f) &&
      !parts(p, axis, facing, b, c, d, e, f) &&
      !parts(p, axis, facing, c, a, d, e, f) &&
      !parts(p, axis, facing, d, e, a, b, c) &&
      !parts(p, axis, facing, e, f, a, b, c) &&
      !parts(p, axis, facing, f, d, a, b, c)
    );
  }
  return false;
}

/** Whether x, y and z all lie on the outer side of the edge q r, or on it. */
function parts(
  p: Float64Array,
  axis: number,
  facing: number,
  q: number,
  r: number,
  x: number,
  y: number,
  z: number,
): boolean {
  return (
    facing * turn(p, axis, q, r, x) <= 0 && facing * turn(p, axis, q, r, y) <= 0 && facing * turn(p, axis, q, r, z) <= 0
  );
}

function edgesMeet(p: Float64Array, axis: number, q: number, r: number, a: number, b: number): boolean {
  const qa = turn(p, axis, q, r, a);
  const qb = turn(p, axis, q, r, b);
  if ((qa > 0 && qb > 0) || (qa < 0 && qb < 0)) return false;
  const aq = turn(p, axis, a, b, q);
  const ar = turn(p, axis, a, b, r);
  if ((aq > 0 && ar > 0) || (aq < 0 && ar < 0)) return false;
  if (qa !== 0 || qb !== 0) return true;
  return spansMeet(p, (axis + 1) % 3, q, r, a, b) && spansMeet(p, (axis + 2) % 3, q, r, a, b);
}

function spansMeet(p: Float64Array, along: number, q: number, r: number, a: number, b: number): boolean {
  const q1 = p[3 * q + along];
  const r1 = p[3 * r + along];
  const a1 = p[3 * a + along];
  const b1 = p[3 * b + along];
  return Math.max(Math.min(q1, r1), Math.min(a1, b1)) <= Math.min(Math.max(q1, r1), Math.max(a1, b1));
}

/** Sign of the volume of the tetrahedron a b c d. */
function side(p: Float64Array, a: number, b: number, c: number, d: number): number {
  const i = 3 * a;
  const j = 3 * b;
  const k = 3 * c;
  const l = 3 * d;
  return orient3d(
    p[i],
    p[i + 1],
    p[i + 2],
    p[j],
    p[j + 1],
    p[j + 2],
    p[k],
    p[k + 1],
    p[k + 2],
    p[l],
    p[l + 1],
    p[l + 2],
  );
}

/** Sign of the area of the triangle a b c seen along an axis. */
function turn(p: Float64Array, axis: number, a: number, b: number, c: number): number {
  const u = (axis + 1) % 3;
  const v = (axis + 2) % 3;
  return orient2d(p[3 * a + u], p[3 * a + v], p[3 * b + u], p[3 * b + v], p[3 * c + u], p[3 * c + v]);
}

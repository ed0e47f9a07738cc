// Half-edge twins without sorting. Each edge is entered once, by its first half-edge, in a chain at its lower vertex;
// later half-edges look along that chain, which is as short as the vertex has edges to higher ones.
// Edges with any fault are handed out to be settled by the reference, so its rules are written once.

// A link is a kind in the top three bits and a half-edge (plus one where "none" is possible) in the rest.
const KIND: u32 = 29;
const BODY: u32 = (1 << KIND) - 1;
const OPEN: u32 = 0; // entered in the chain, no second half-edge yet; body: the next in the chain, plus one
const MATCHED: u32 = 1; // entered, and one second half-edge runs the other way; body as above
const FAN: u32 = 2; // entered, and met by too many or by one that runs the same way; body as above
const SECOND: u32 = 3; // not entered; body: the entered half-edge that it matches
const MEMBER: u32 = 4; // not entered; body: the entered half-edge of its fan
const COLLAPSED: u32 = 5; // its triangle has two corners on one vertex

// What is left in `links` in place of a twin.
const NO_TWIN: u32 = 0xffffffff;
const IN_FAN: u32 = 0xfffffffe;

/** Steps along chains, over all triangles; the caller stops when a fan makes them many. */
export let steps: u32 = 0;
export let edges: u32 = 0;
export let collapsed: u32 = 0;
export let firstCollapsed: i32 = -1;
export let boundary: u32 = 0;
export let firstBoundary: i32 = -1;
export let duplicates: u32 = 0;
export let firstDuplicate: i32 = -1;

let vertices: u32 = 0;

export function startEdges(heads: usize, vertexCount: u32): void {
  vertices = vertexCount;
  memory.fill(heads, 0, vertexCount << 2);
  steps = 0;
  edges = 0;
  collapsed = 0;
  firstCollapsed = -1;
  boundary = 0;
  firstBoundary = -1;
  duplicates = 0;
  firstDuplicate = -1;
}

/** Enters or matches the half-edges begin..end (whole triangles). Traps at a corner that is no vertex: chains might never end. */
export function enterEdges(triangles: usize, links: usize, heads: usize, begin: u32, end: u32): void {
  let walked: u32 = 0;
  for (let h = begin; h < end; h += 3) {
    const corner = triangles + (h << 2);
    const a = load<u32>(corner);
    const b = load<u32>(corner, 4);
    const c = load<u32>(corner, 8);
    if (max(max(a, b), c) >= vertices) unreachable();
    if (a === b || b === c || c === a) {
      if (collapsed++ === 0) firstCollapsed = h;
      const link = links + (h << 2);
      store<u32>(link, COLLAPSED << KIND);
      store<u32>(link, COLLAPSED << KIND, 4);
      store<u32>(link, COLLAPSED << KIND, 8);
      continue;
    }
    for (let k: u32 = h, from = a, to = b; k < h + 3; k++) {
      const low = min(from, to);
      const both = from ^ to;
      const head = heads + (low << 2);
      const first = load<u32>(head);
      let entry = first;
      while (entry !== 0) {
        const g = entry - 1;
        const link = load<u32>(links + (g << 2));
        const gFrom = load<u32>(triangles + (g << 2));
        // One end is `low` for all of the chain, so equal differences mean equal other ends.
        if ((gFrom ^ load<u32>(triangles + (next(g) << 2))) === both) {
          const clean = link >> KIND === OPEN && gFrom !== from;
          store<u32>(links + (g << 2), ((clean ? MATCHED : FAN) << KIND) | (link & BODY));
          store<u32>(links + (k << 2), ((clean ? SECOND : MEMBER) << KIND) | g);
          break;
        }
        entry = link & BODY;
        walked++;
      }
      if (entry === 0) {
        store<u32>(links + (k << 2), first);
        store<u32>(head, k + 1);
        edges++;
      }
      from = to;
      to = k === h ? c : a;
    }
  }
  steps += walked;
}

/**
 * Turns the links of from..to into twins, in place; to be called for all half-edges in order.
 * @param fans receives, for each half-edge that is in a fan and did not open it: itself and the one that did
 * @returns the number of such pairs
 */
export function settleEdges(triangles: usize, links: usize, from: u32, to: u32, fans: usize): u32 {
  let out = fans;
  for (let h = from; h < to; h++) {
    const at = links + (h << 2);
    const link = load<u32>(at);
    const kind = link >> KIND;
    const g = link & BODY;
    if (kind === SECOND && load<u32>(links + (g << 2)) !== IN_FAN) {
      store<u32>(at, g);
      store<u32>(links + (g << 2), h);
      countDuplicate(triangles, h, g);
    } else if (kind === MATCHED) {
      store<u32>(at, NO_TWIN); // until its second is reached
    } else if (kind === OPEN) {
      store<u32>(at, NO_TWIN);
      if (boundary++ === 0) firstBoundary = h;
    } else if (kind === COLLAPSED) {
      pairWithItself(triangles, links, h);
      h += 2;
    } else {
      store<u32>(at, IN_FAN);
      if (kind === FAN) continue;
      store<u32>(out, h);
      store<u32>(out, g, 4);
      out += 8;
    }
  }
  return <u32>((out - fans) >> 3);
}

/** Two triangles back to back; counted on the edge that does not touch their highest corner. */
function countDuplicate(triangles: usize, h: u32, g: u32): void {
  const opposite = load<u32>(triangles + (previous(h) << 2));
  if (load<u32>(triangles + (previous(g) << 2)) !== opposite) return;
  if (max(load<u32>(triangles + (h << 2)), load<u32>(triangles + (g << 2))) > opposite) return;
  if (duplicates++ === 0) firstDuplicate = h;
}

function pairWithItself(triangles: usize, links: usize, h: u32): void {
  const a = load<u32>(triangles + (h << 2));
  const b = load<u32>(triangles + (h << 2), 4);
  const c = load<u32>(triangles + (h << 2), 8);
  const across = a === b ? h + 1 : b === c ? h + 2 : h;
  const back = across === h ? h + 1 : across === h + 1 ? h + 2 : h;
  for (let k = h; k < h + 3; k++) store<u32>(links + (k << 2), k);
  if (a === b && b === c) return;
  store<u32>(links + (across << 2), back);
  store<u32>(links + (back << 2), across);
}

function next(h: u32): u32 {
  return h % 3 === 2 ? h - 2 : h + 1;
}

function previous(h: u32): u32 {
  return h % 3 === 0 ? h + 2 : h - 1;
}

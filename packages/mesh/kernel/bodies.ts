// Bodies by union-find over vertices: the same counts as countBodies of src/topology.ts.

const UNUSED: u32 = 0xffffffff;

export let usedVertices: u32 = 0;
export let components: u32 = 0;

export function startBodies(parents: usize, vertexCount: u32): void {
  memory.fill(parents, 0xff, vertexCount << 2);
  usedVertices = 0;
  components = 0;
}

/** Joins the corners of the triangles whose half-edges are from..to. */
export function joinBodies(triangles: usize, parents: usize, from: u32, to: u32): void {
  for (let h = from; h < to; h += 3) {
    const corner = triangles + (h << 2);
    const a = load<u32>(corner);
    const b = load<u32>(corner, 4);
    const c = load<u32>(corner, 8);
    // Nearly always: all three hang at one root already.
    const pa = parentOf(parents, a);
    if (pa === parentOf(parents, b) && pa === parentOf(parents, c) && pa !== UNUSED) continue;
    if (a === b || b === c || c === a) continue;
    const ra = rootOf(parents, a);
    const rb = rootOf(parents, b);
    const rc = rootOf(parents, c);
    const low = min(min(ra, rb), rc);
    if (ra !== low) components--;
    if (rb !== low && rb !== ra) components--;
    if (rc !== low && rc !== ra && rc !== rb) components--;
    store<u32>(parents + (ra << 2), low);
    store<u32>(parents + (rb << 2), low);
    store<u32>(parents + (rc << 2), low);
  }
}

function rootOf(parents: usize, vertex: u32): u32 {
  let v = vertex;
  let parent = parentOf(parents, v);
  if (parent === UNUSED) {
    usedVertices++;
    components++;
    return v; // the caller stores its parent
  }
  while (parent !== v) {
    const above = parentOf(parents, parent);
    store<u32>(parents + (v << 2), above);
    v = above;
    parent = parentOf(parents, v);
  }
  return v;
}

function parentOf(parents: usize, v: u32): u32 {
  return load<u32>(parents + (v << 2));
}

import type { SurfaceSamples } from './surface-samples.ts';

/** restMm2: what lies on the plate; shownMm2: of the contact, what shows */
export type SampledNeed = {
  volumeMm3: number;
  contactMm2: number;
  standingMm2: number;
  restMm2: number;
  shownMm2: number;
};

/** Steeper faces hardly stop a column, and their planes say little about the height beside them. */
const LEAST_FLOOR = 0.1;
const TOUCHING_MM = 1e-3;
/** Samples that look up in one cell of the shadow, on average. */
const PER_CELL = 1.5;

/**
 * A measure of support by samples: for each sample beyond the limit the column down to the highest sample below it that looks
 * up, in the same cell of a grid over the shadow, or to the plate. A sample's plane is followed to the place above
 * it, so that the back of a leaning wall does not count as lying below its front. For ranking: within some per cent.
 * @returns a function of a direction (unit vector to the plate); it keeps its arrays and gives the same object each time
 */
export function sampledNeed(
  samples: SurfaceSamples,
  limit: number,
  leastGapMm: number,
  shows: Uint8Array,
): (dx: number, dy: number, dz: number, lowestMm: number) => Readonly<SampledNeed> {
  const { count, x, y, z, nx, ny, nz, areaMm2 } = samples;
  const cellMm = Math.sqrt(4 * PER_CELL * areaMm2);
  // Of samples in need: place, height, shadow. Of those that look up, by cell: place, and height as a plane.
  const u = new Float64Array(count);
  const v = new Float64Array(count);
  const h = new Float64Array(count);
  const shadow = new Float64Array(count);
  const shown = new Uint8Array(count);
  const upper = new Int32Array(count);
  const cellOf = new Int32Array(count);
  const plane = new Float64Array(4 * count);
  let start = new Int32Array(1024);
  const found: SampledNeed = { volumeMm3: 0, contactMm2: 0, standingMm2: 0, restMm2: 0, shownMm2: 0 };
  return (dx, dy, dz, lowestMm) => {
    // Two unit vectors square to the direction (Duff et al. 2017, from memory).
    const s = dz >= 0 ? 1 : -1;
    const a = -1 / (s + dz);
    const b = dx * dy * a;
    const ux = 1 + s * dx * dx * a;
    const uy = s * b;
    const uz = -s * dx;
    const vx = b;
    const vy = s + dy * dy * a;
    const vz = -dy;
    let needy = 0;
    let uppers = 0;
    let rest = 0;
    let lowU = Infinity;
    let lowV = Infinity;
    let highU = -Infinity;
    let highV = -Infinity;
    for (let i = 0; i < count; i++) {
      const facing = nx[i] * dx + ny[i] * dy + nz[i] * dz;
      if (facing <= limit) {
        if (facing < -LEAST_FLOOR) upper[uppers++] = i;
        continue;
      }
      const px = x[i];
      const py = y[i];
      const pz = z[i];
      const at = -(px * dx + py * dy + pz * dz) - lowestMm;
      if (at < leastGapMm) {
        rest += facing * areaMm2;
        continue;
      }
      const pu = px * ux + py * uy + pz * uz;
      const pv = px * vx + py * vy + pz * vz;
      u[needy] = pu;
      v[needy] = pv;
      shown[needy] = shows[i];
      h[needy] = at;
      shadow[needy++] = facing * areaMm2;
      if (pu < lowU) lowU = pu;
      if (pu > highU) highU = pu;
      if (pv < lowV) lowV = pv;
      if (pv > highV) highV = pv;
    }
    found.volumeMm3 = 0;
    found.contactMm2 = 0;
    found.standingMm2 = 0;
    found.restMm2 = rest;
    found.shownMm2 = 0;
    if (needy === 0) return found;
    const perCell = 1 / cellMm;
    const columns = ((highU - lowU) * perCell + 1) | 0;
    const rows = ((highV - lowV) * perCell + 1) | 0;
    const cells = columns * rows;
    if (start.length < cells + 2) start = new Int32Array(2 * cells + 2);
    else start.fill(0, 0, cells + 2);
    let below = 0;
    for (let k = 0; k < uppers; k++) {
      const i = upper[k];
      const pu = (x[i] * ux + y[i] * uy + z[i] * uz - lowU) * perCell;
      const pv = (x[i] * vx + y[i] * vy + z[i] * vz - lowV) * perCell;
      if (pu < 0 || pv < 0 || pu >= columns || pv >= rows) continue;
      const cell = (pv | 0) * columns + (pu | 0);
      upper[below] = i;
      cellOf[below++] = cell;
      start[cell + 2]++;
    }
    for (let c = 2; c < cells + 2; c++) start[c] += start[c - 1];
    for (let k = 0; k < below; k++) {
      const i = upper[k];
      const px = x[i];
      const py = y[i];
      const pz = z[i];
      const facing = nx[i] * dx + ny[i] * dy + nz[i] * dz;
      const slopeU = (nx[i] * ux + ny[i] * uy + nz[i] * uz) / facing;
      const slopeV = (nx[i] * vx + ny[i] * vy + nz[i] * vz) / facing;
      const height = -(px * dx + py * dy + pz * dz) - lowestMm;
      const at = 4 * start[cellOf[k] + 1]++;
      plane[at] = height;
      plane[at + 1] = slopeU;
      plane[at + 2] = slopeV;
      plane[at + 3] = height - slopeU * (px * ux + py * uy + pz * uz) - slopeV * (px * vx + py * vy + pz * vz);
    }
    let volume = 0;
    let contact = 0;
    let standing = 0;
    let marks = 0;
    for (let i = 0; i < needy; i++) {
      const pu = u[i];
      const pv = v[i];
      const at = h[i];
      // Where bodies touch, one's roof is the other's ceiling: nothing hangs there.
      const top = at + TOUCHING_MM;
      const cell = (((pv - lowV) * perCell) | 0) * columns + (((pu - lowU) * perCell) | 0);
      const end = 4 * start[cell + 1];
      let floor = 0;
      for (let k = 4 * start[cell]; k < end; k += 4) {
        const height = plane[k + 3] + plane[k + 1] * pu + plane[k + 2] * pv;
        if (height > floor && height <= top && plane[k] <= top) floor = height;
      }
      if (at - floor < leastGapMm) continue;
      volume += shadow[i] * (at - floor);
      contact += shadow[i];
      if (shown[i] === 1) marks += shadow[i];
      if (floor > 0) standing += shadow[i];
    }
    found.volumeMm3 = volume;
    found.contactMm2 = contact;
    found.standingMm2 = standing;
    found.shownMm2 = marks;
    return found;
  };
}

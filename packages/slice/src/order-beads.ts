import type { Bead } from './beads.ts';
import type { PathWriter } from './path-writer.ts';

/** Where the nozzle is; travel is written from here. */
export type Nozzle = { x: number; y: number; known: boolean };

export type OrderOptions = Readonly<{
  /** beads that are in a good order already (to and fro); only their direction is chosen */
  keepOrder: boolean;
}>;

/** Above this many beads in a group the nearest one is looked for among the next ones only. */
const LOOK_AHEAD = 256;
/** Shorter steps are not worth a travel: they are what rounding leaves between a stroke and the next. */
const LEAST_TRAVEL_MM = 0.02;

/** Writes beads one after the other, each next one the nearest, with travel between; closed ones begin at their nearest point. */
export function writeBeads(
  beads: readonly Bead[],
  writer: PathWriter,
  nozzle: Nozzle,
  { keepOrder }: OrderOptions,
): void {
  const left = beads.slice();
  for (let done = 0; done < left.length; done++) {
    let best = done;
    let entry = nearestEntry(left[done], nozzle);
    const end = keepOrder || !nozzle.known ? done + 1 : Math.min(left.length, done + LOOK_AHEAD);
    for (let i = done + 1; i < end; i++) {
      const other = nearestEntry(left[i], nozzle);
      if (other.distance2 < entry.distance2) {
        best = i;
        entry = other;
      }
    }
    const bead = left[best];
    left[best] = left[done];
    left[done] = bead;
    writeBead(bead, entry.point, writer, nozzle);
  }
}

type Entry = Readonly<{ point: number; distance2: number }>;

function nearestEntry(bead: Bead, nozzle: Nozzle): Entry {
  const xy = bead.xyMm;
  const n = xy.length / 2;
  let point = 0;
  let distance2 = Number.POSITIVE_INFINITY;
  const step = bead.closed ? 1 : Math.max(1, n - 1);
  for (let i = 0; i < n; i += step) {
    const d = (xy[2 * i] - nozzle.x) ** 2 + (xy[2 * i + 1] - nozzle.y) ** 2;
    if (d < distance2) {
      distance2 = d;
      point = i;
    }
  }
  return { point, distance2 };
}

function writeBead(bead: Bead, entry: number, writer: PathWriter, nozzle: Nozzle): void {
  const xy = bead.xyMm;
  const n = xy.length / 2;
  const x = xy[2 * entry];
  const y = xy[2 * entry + 1];
  if (nozzle.known && Math.hypot(x - nozzle.x, y - nozzle.y) > LEAST_TRAVEL_MM) {
    writer.add([nozzle.x, nozzle.y, x, y], 0, 2, { kind: 'travel', closed: false, widthMm: 0 });
  }
  const backwards = !bead.closed && entry !== 0;
  writer.add(xy, 0, n, bead, bead.closed ? { first: entry } : { backwards });
  const last = bead.closed ? entry : backwards ? 0 : n - 1;
  nozzle.x = xy[2 * last];
  nozzle.y = xy[2 * last + 1];
  nozzle.known = true;
}

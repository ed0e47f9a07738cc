import type { Reading } from '@stonehand/model';
import { byAge, type NameMarks, nameMarks } from './intake-names.ts';

/** How alike two meshes are; what compareShapes of package inspect gives has these members. */
export type Likeness = Readonly<{
  same: boolean;
  mirrored: boolean;
  /** the second is the first enlarged by this */
  scale: number;
  distance: Readonly<{ meanMm: number; maxMm: number }>;
}>;

export type CompareReadings = (a: Reading, b: Reading) => Promise<Likeness>;

export type ShapeFacts = Readonly<{
  /** each reading in one group, those of one shape together */
  groups: readonly Readonly<{ members: readonly Reading[]; exact: boolean }>[];
  mirrors: readonly Readonly<{ a: Reading; b: Reading; maxMm: number }>[];
  /** pairs of one shape whose sizes have the ratio of two units */
  enlarged: readonly Readonly<{ small: Reading; big: Reading; ratio: number; unit: string; says: string }>[];
  revised: readonly Readonly<{ order: readonly Reading[]; ordered: boolean; maxMm: number }>[];
}>;

// Finer than any printer shows: two tessellations of one design differ so, not two designs. Common practice, no source.
const NEAR_MM = 0.03;
// Figures of one shape in coarse and fine triangles differ by this share of a length; the comparison itself decides.
const FIGURES_SHARE = 5e-3;
const UNIT_RATIOS: readonly Readonly<{ ratio: number; unit: string; says: string }>[] = [
  { ratio: 25.4, unit: 'in', says: 'inches' },
  { ratio: 1000, unit: 'm', says: 'metres' },
];
// Revisions of a part keep its size and skin about; other parts of one name (a left and a right one) do too, so names must speak first.
const SIDES_SHARE = 0.2;
const AREA_RATIO = 1.6;
const MEAN_SHARE = 0.05;

/** Groups readings by shape. Figures that no motion changes are compared first, meshes only where these agree. */
export async function shapeFacts(readings: readonly Reading[], compare: CompareReadings): Promise<ShapeFacts> {
  const groups: { members: Reading[]; exact: boolean }[] = [];
  const mirrors: { a: Reading; b: Reading; maxMm: number }[] = [];
  const enlarged: { small: Reading; big: Reading; ratio: number; unit: string; says: string }[] = [];
  for (const reading of readings) {
    let joined = false;
    const found: { mirrors: typeof mirrors; enlarged: typeof enlarged } = { mirrors: [], enlarged: [] };
    for (const group of groups) {
      const first = group.members[0]!;
      const ratio = lengthRatio(first, reading);
      if (!mayBeOneShape(ratio)) continue;
      const unit = unitBetween(ratio);
      const alike = await likeness(first, reading, compare);
      const near = NEAR_MM * Math.max(1, alike.scale);
      // A fit changed by hundredths is a revision where the names say so.
      const apart = alike.distance.maxMm > near || (!alike.mirrored && revisable(first, reading));
      if (!alike.same && apart) continue;
      if (unit !== undefined) {
        const [small, big] = ratio > 1 ? [first, reading] : [reading, first];
        found.enlarged.push({ small, big, ...unit });
      } else if (alike.mirrored) found.mirrors.push({ a: first, b: reading, maxMm: alike.distance.maxMm });
      else if (isNear(alike.scale, 1)) {
        group.members.push(reading);
        group.exact &&= alike.same;
        joined = true;
        break;
      }
    }
    // What holds for the first of a group has been said there.
    if (joined) continue;
    groups.push({ members: [reading], exact: true });
    mirrors.push(...found.mirrors);
    enlarged.push(...found.enlarged);
  }
  const settled = new Set([
    ...mirrors.map(({ a, b }) => pairKey(a, b)),
    ...enlarged.map(({ small, big }) => pairKey(small, big)),
  ]);
  return { groups, mirrors, enlarged, revised: await revisedParts(groups, settled, compare) };
}

/**
 * Pairs that will be compared whatever the others turn out to be: each reading with the first before it that is alike in its figures, and
 * with the first that it may be a revision of.
 */
export function likelyPairs(readings: readonly Reading[]): (readonly [Reading, Reading])[] {
  return readings.flatMap((reading, at) => {
    const before = readings
      .slice(0, at)
      .filter((other) => other.meshHash !== reading.meshHash || other.unit !== reading.unit);
    const alike = before.find((other) => mayBeOneShape(lengthRatio(other, reading)));
    const older = before.find(
      (other) => other !== alike && revisable(other, reading) && similarFigures(other, reading),
    );
    return [alike, older].flatMap((other) => (other === undefined ? [] : [[other, reading] as const]));
  });
}

/** The unit that this ratio of sizes looks like, either way round. */
function unitBetween(ratio: number): (typeof UNIT_RATIOS)[number] | undefined {
  return UNIT_RATIOS.find((each) => isNear(ratio, each.ratio) || isNear(1 / ratio, each.ratio));
}

function mayBeOneShape(ratio: number | undefined): ratio is number {
  return ratio !== undefined && (isNear(ratio, 1) || unitBetween(ratio) !== undefined);
}

type FileFacts = Readonly<{
  folder: string;
  base: string;
  name: NameMarks;
  above: NameMarks;
  allMarks: readonly string[];
}>;

export function fileFacts(file: string): FileFacts {
  const inFile = file.indexOf(' > ');
  const at = inFile < 0 ? file.lastIndexOf('/') : inFile;
  const folder = at < 0 ? '' : file.slice(0, at);
  const base = file.slice(at + (inFile < 0 ? 1 : ' > '.length));
  const name = nameMarks(base.replace(/(\.[A-Za-z0-9]{2,4})(\.gz)?$/, ''));
  const above = nameMarks(folder.replaceAll('/', ' '));
  return { folder, base, name, above, allMarks: name.marks.length > 0 ? name.marks : above.marks };
}

/** Whether two names are those of one part in two revisions, or of one part in two formats. */
function revisable(a: Reading, b: Reading): boolean {
  const [x, y] = [fileFacts(a.file), fileFacts(b.file)];
  if (x.name.stem === '' || x.name.stem !== y.name.stem) return false;
  if (x.name.marks.join() !== y.name.marks.join()) return true;
  return x.folder === y.folder || (x.above.stem === y.above.stem && x.above.marks.join() !== y.above.marks.join());
}

function inOrder(a: Reading, b: Reading): number {
  const [x, y] = [fileFacts(a.file), fileFacts(b.file)];
  return byAge(x.name.age, y.name.age) || byAge(x.above.age, y.above.age);
}

async function revisedParts(
  groups: ShapeFacts['groups'],
  settled: ReadonlySet<string>,
  compare: CompareReadings,
): Promise<ShapeFacts['revised']> {
  const revised: { order: Reading[]; ordered: boolean; maxMm: number }[] = [];
  const taken = new Set<Reading>();
  const all = groups.flatMap(({ members }, group) => members.map((reading) => ({ reading, group })));
  for (const [at, { reading, group }] of all.entries()) {
    if (taken.has(reading)) continue;
    const line = [reading];
    const shapes = new Set([group]);
    let maxMm = 0;
    for (const other of all.slice(at + 1)) {
      if (shapes.has(other.group) || taken.has(other.reading) || !revisable(reading, other.reading)) continue;
      if (settled.has(pairKey(groups[group]!.members[0]!, groups[other.group]!.members[0]!))) continue;
      if (!similarFigures(reading, other.reading)) continue;
      const { distance, mirrored } = await likeness(reading, other.reading, compare);
      if (mirrored || distance.meanMm > MEAN_SHARE * Math.hypot(...sidesOf(reading))) continue;
      line.push(other.reading);
      shapes.add(other.group);
      maxMm = Math.max(maxMm, distance.maxMm);
    }
    if (line.length < 2) continue;
    for (const each of line) taken.add(each);
    const order = [...line].sort((a, b) => inOrder(a, b) || (a.file < b.file ? -1 : 1));
    const ordered = order.slice(1).every((each, i) => inOrder(order[i]!, each) < 0);
    revised.push({ order, ordered, maxMm });
  }
  return revised;
}

async function likeness(a: Reading, b: Reading, compare: CompareReadings): Promise<Likeness> {
  return a.meshHash === b.meshHash && a.unit === b.unit
    ? { same: true, mirrored: false, scale: 1, distance: { meanMm: 0, maxMm: 0 } }
    : compare(a, b);
}

/**
 * How much longer b is than a if they may be one shape: the square root of the areas' ratio, where volume and the invariants of the
 * inertia tensor (trace, sum of principal minors, determinant, the same under every motion and mirror) agree with it.
 */
function lengthRatio(a: Reading, b: Reading): number | undefined {
  const ratio = Math.sqrt(b.areaMm2 / a.areaMm2);
  if (!(ratio > 0 && ratio < Infinity)) return undefined;
  const agrees = (x: number, y: number, power: number): boolean =>
    x > 0 && y > 0 ? isNear((y / x) ** (1 / power), ratio) : x <= 0 && y <= 0;
  if (a.volumeMm3 === undefined || b.volumeMm3 === undefined) return a.volumeMm3 === b.volumeMm3 ? ratio : undefined;
  if (!agrees(a.volumeMm3, b.volumeMm3, 3)) return undefined;
  const [x, y] = [tensorInvariants(a), tensorInvariants(b)];
  return [5, 10, 15].every((power, i) => agrees(x[i]!, y[i]!, power)) ? ratio : undefined;
}

function tensorInvariants({ inertiaMm5 }: Reading): readonly [number, number, number] {
  if (inertiaMm5 === undefined) return [0, 0, 0];
  const [xx, yy, zz, xy, yz, zx] = inertiaMm5;
  return [
    xx + yy + zz,
    xx * yy + yy * zz + zz * xx - xy * xy - yz * yz - zx * zx,
    xx * (yy * zz - yz * yz) - xy * (xy * zz - yz * zx) + zx * (xy * yz - yy * zx),
  ];
}

function similarFigures(a: Reading, b: Reading): boolean {
  const [x, y] = [sidesOf(a), sidesOf(b)];
  const longest = Math.max(...x, ...y);
  const areas = b.areaMm2 / a.areaMm2;
  return (
    x.every((side, i) => Math.abs(side - y[i]!) <= SIDES_SHARE * longest) && Math.max(areas, 1 / areas) <= AREA_RATIO
  );
}

/** Sides of the box, rising: a quarter turn does not change them. */
function sidesOf({ boxMm: { min, max } }: Reading): number[] {
  return [max[0] - min[0], max[1] - min[1], max[2] - min[2]].sort((p, q) => p - q);
}

function isNear(value: number, target: number): boolean {
  return Math.abs(Math.log(value / target)) <= FIGURES_SHARE;
}

function pairKey(a: Reading, b: Reading): string {
  return a.file < b.file ? `${a.file}\n${b.file}` : `${b.file}\n${a.file}`;
}

import { applyAffine, composeAffine, StonehandError } from '@stonehand/base';
import type {
  Assembly,
  ExtraMass,
  Figure,
  HardwareItem,
  Joint,
  MassBody,
  MountedItem,
  PartSpec,
  Placement,
  Vec3,
} from '@stonehand/model';
import { type Body, lineBody, pointBody, transformBody } from './bodies.ts';
import { type Doubt, LEVEL } from './doubts.ts';
import type { CopyMass, PartMass, Skin } from './part-mass.ts';

/** What is gathered for one assembly, in its own axes. Doubts are the masses that are not exact: placed, and loose. */
export type Tally = {
  readonly bodies: Body[];
  readonly labels: MassBody[];
  readonly placed: Doubt[];
  readonly loose: Doubt[];
  readonly missing: string[];
  readonly byPartG: Record<string, number>;
  readonly byMaterialG: Record<string, number>;
  readonly byExtraG: Record<string, number>;
  /** printed copies */
  copies: number;
  boughtG: number;
  weighedG: number;
};

/** Coats and beads are laid by hand: 30 % either way (common practice, no source). Wiring counts as stated. */
const BY_HAND = 0.3;
/** Kinds of joint that hold by glue or weld. */
const GLUED: ReadonlySet<Joint['kind']> = new Set<Joint['kind']>(['glue', 'weld', 'butt', 'flange', 'tab']);

export function newTally(): Tally {
  return {
    bodies: [],
    labels: [],
    placed: [],
    loose: [],
    missing: [],
    byPartG: {},
    byMaterialG: {},
    byExtraG: {},
    copies: 0,
    boughtG: 0,
    weighedG: 0,
  };
}

/** Printed copies with their paint and the glue in their cuts. */
export function addPart(tally: Tally, part: PartSpec, mass: PartMass | undefined, glueGPerM: number): void {
  const stated: Figure | undefined =
    part.massG === undefined ? undefined : { value: part.massG, from: `${part.id}, stated` };
  const count = copiesOf(part);
  if (mass === undefined && stated === undefined) {
    tally.missing.push(`${part.id}: no mass is known`);
    return;
  }
  const places = mass === undefined ? [] : part.places;
  for (let k = 0; k < count; k++) {
    const copy = mass === undefined ? undefined : massOfCopy(mass, k + 1, stated);
    const massG = copy?.massG ?? stated!;
    const weighed = copy?.weighed === true;
    tally.copies++;
    add(tally.byPartG, part.id, massG.value);
    add(tally.byMaterialG, part.materialId, massG.value);
    if (weighed) tally.weighedG += massG.value;
    const place = places[k];
    const doubt = { key: weighed ? `${part.id}#${k + 1}` : part.id, own: weighed, massG };
    if (place === undefined || copy === undefined) {
      tally.loose.push({ ...doubt, centreMm: [0, 0, 0] });
    } else {
      const body = transformBody(bodyOf(copy), place);
      tally.bodies.push(body);
      tally.labels.push({ kind: 'printed', id: part.id, massG: body.massG, centreMm: body.centreMm, place });
      tally.placed.push({ ...doubt, centreMm: body.centreMm });
    }
    if (mass !== undefined) addOnCopy(tally, part, mass, place, glueGPerM);
  }
  if (places.length < count) {
    const why = mass === undefined ? 'its shape is not known' : 'no place is stated';
    tally.missing.push(`${part.id}: ${why} for ${count - places.length} of ${count}`);
  }
}

/** Copies that belong to the assembly; spares do not. */
export function copiesOf(part: PartSpec): number {
  return Math.max(part.quantity, part.places.length);
}

/** What this copy weighs: on the scale, as it lies there, as stated (spread as the shape does), or by estimate. */
function massOfCopy(
  mass: PartMass,
  copy: number,
  stated?: Figure,
): CopyMass & Readonly<{ weighed?: true | undefined }> {
  const known = mass.copies?.[copy];
  if (known !== undefined) return known;
  if (stated === undefined) return mass;
  const share = mass.massG.value === 0 ? 1 : stated.value / mass.massG.value;
  const [xx, yy, zz, xy, yz, zx] = mass.inertiaGMm2;
  return {
    massG: stated,
    centreMm: mass.centreMm,
    inertiaGMm2: [share * xx, share * yy, share * zz, share * xy, share * yz, share * zx],
  };
}

function bodyOf({ massG, centreMm, inertiaGMm2 }: CopyMass): Body {
  return { massG: massG.value, centreMm, inertiaGMm2 };
}

function addOnCopy(
  tally: Tally,
  part: PartSpec,
  mass: PartMass,
  place: Placement | undefined,
  glueGPerM: number,
): void {
  for (const { what, gPerM2, coats, share } of part.paint ?? []) {
    if (mass.skin === undefined) {
      tally.missing.push(`${part.id}: its surface is not known, so ${what} is not weighed`);
      continue;
    }
    const areaMm2 = share === undefined ? mass.skin.outsideMm2 : share * mass.skin.wholeMm2;
    addExtra(tally, what, 'paint', skinBody(mass.skin, (areaMm2 / 1e6) * gPerM2 * coats), place, BY_HAND);
  }
  if (glueGPerM === 0) return;
  for (const { atMm, lengthMm } of mass.seams ?? [])
    addExtra(tally, 'glue', 'glue', pointBody((lengthMm / 1000) * glueGPerM, atMm), place, BY_HAND);
}

function skinBody({ centreMm, inertiaMm2: [xx, yy, zz, xy, yz, zx] }: Skin, massG: number): Body {
  const m = massG;
  return { massG: m, centreMm, inertiaGMm2: [m * xx, m * yy, m * zz, m * xy, m * yz, m * zx] };
}

/** place undefined: it counts in the mass, not in the centre, as the copy does that it is on. */
function addExtra(
  tally: Tally,
  what: string,
  kind: ExtraMass['kind'],
  body: Body,
  place: Placement | undefined,
  share: number,
): void {
  if (body.massG === 0) return;
  add(tally.byExtraG, kind, body.massG);
  const half = share * body.massG;
  const interval = share === 0 ? {} : { low: body.massG - half, high: body.massG + half, level: LEVEL };
  const massG: Figure = { value: body.massG, from: what, ...interval };
  const doubt = { key: kind, own: true, massG };
  if (place === undefined) {
    tally.loose.push({ ...doubt, centreMm: [0, 0, 0] });
    return;
  }
  const placed = transformBody(body, place);
  tally.bodies.push(placed);
  tally.labels.push({ kind: 'extra', id: what, massG: placed.massG, centreMm: placed.centreMm });
  tally.placed.push({ ...doubt, centreMm: placed.centreMm });
}

const HERE: Placement = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0];

/** Wiring and the like as stated; glue along the joints of the assembly that hold by it. */
export function addAllowances(tally: Tally, { id, extras = [], joints }: Assembly, glueGPerM: number): void {
  for (const { what, kind, massG, alongMm } of extras)
    addExtra(tally, what, kind, lineBody(massG, alongMm), alongMm.length === 0 ? undefined : HERE, 0);
  if (glueGPerM === 0) return;
  for (const joint of joints) {
    if (!GLUED.has(joint.kind)) continue;
    const lengthMm = joint.lengthMm ?? (joint.diameterMm === undefined ? undefined : Math.PI * joint.diameterMm);
    if (lengthMm === undefined) tally.missing.push(`${joint.id}: no length is stated, so its glue is not weighed`);
    else addExtra(tally, `glue, ${id}`, 'glue', pointBody((lengthMm / 1000) * glueGPerM, joint.atMm), HERE, BY_HAND);
  }
}

/** Bought items are points at their places. @throws StonehandError DATA_UNKNOWN */
export function addBought(
  tally: Tally,
  assemblyId: string,
  mounted: MountedItem,
  items: ReadonlyMap<string, HardwareItem>,
): void {
  const item = items.get(mounted.itemId);
  if (item === undefined) {
    throw new StonehandError(
      'DATA_UNKNOWN',
      `${assemblyId}: the bought item "${mounted.itemId}" is not in the shop's hardware`,
      'Add it to shop/hardware.yaml, with its mass.',
    );
  }
  const count = Math.max(mounted.quantity, mounted.places.length);
  tally.boughtG += count * item.massG;
  for (const at of mounted.places) {
    tally.bodies.push(pointBody(item.massG, at));
    tally.labels.push({ kind: 'bought', id: item.id, massG: item.massG, centreMm: at });
  }
  if (mounted.places.length < count) {
    tally.missing.push(`${assemblyId}: no place is stated for ${count - mounted.places.length} of ${count} ${item.id}`);
  }
}

/** Everything of a child, in the axes of its parent. */
export function addChild(tally: Tally, child: Tally, place: Placement): void {
  const moved = (at: Vec3): Vec3 => applyAffine(place, at);
  for (const body of child.bodies) tally.bodies.push(transformBody(body, place));
  for (const label of child.labels) {
    const inParent = label.place === undefined ? {} : { place: composeAffine(place, label.place) };
    tally.labels.push({ ...label, centreMm: moved(label.centreMm), ...inParent });
  }
  for (const doubt of child.placed) tally.placed.push({ ...doubt, centreMm: moved(doubt.centreMm) });
  tally.loose.push(...child.loose);
  tally.missing.push(...child.missing);
  for (const key of ['byPartG', 'byMaterialG', 'byExtraG'] as const)
    for (const [id, g] of Object.entries(child[key])) add(tally[key], id, g);
  tally.copies += child.copies;
  tally.boughtG += child.boughtG;
  tally.weighedG += child.weighedG;
}

function add(sums: Record<string, number>, key: string, amount: number): void {
  sums[key] = (sums[key] ?? 0) + amount;
}

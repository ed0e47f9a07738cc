import { applyAffine, StonehandError } from '@stonehand/base';
import type {
  Assembly,
  Figure,
  HardwareItem,
  MassReport,
  MountedItem,
  PartSpec,
  Placement,
  Tensor,
  Vec3,
} from '@stonehand/model';
import { type Body, combineBodies, pointBody, transformBody } from './bodies.ts';
import { checkLimits } from './check-limits.ts';
import { type Doubt, massFigure } from './doubts.ts';

/** One copy of a part: its printed mass, and centre and tensor in the coordinates of its mesh. */
export type PartMass = Readonly<{ massG: Figure; centreMm: Vec3; inertiaGMm2: Tensor }>;

export type AssemblyInput = Readonly<{
  /** by part id; a part that is absent here and states no mass counts for nothing and is named */
  pieceMass: Readonly<Record<string, PartMass>>;
  hardware: readonly HardwareItem[];
}>;

/**
 * What an assembly weighs, where it balances and whether it keeps its limits; its child assemblies the same, each in its
 * own axes. A mass stated for a part wins over an estimated one. Copies without a place count in the mass but not in the
 * centre, bought items are points at their places; both gaps are named in `missing`.
 *
 * Intervals: all printed masses are taken to be off in the same direction, because they come from one estimate and one
 * calibration; so their ends add. That is cautious for the mass. See check-limits.ts for the centre and the chances.
 * @throws StonehandError DATA_UNKNOWN for a bought item that is not in `hardware`, USAGE for a place that scales
 */
export function assembledMass(assembly: Assembly, input: AssemblyInput): MassReport {
  const items = new Map(input.hardware.map((item) => [item.id, item]));
  return weigh(assembly, input.pieceMass, items).report;
}

/** What is gathered for one assembly, in its own axes. Doubts are the copies whose mass is not exact: placed, and loose. */
type Tally = {
  readonly bodies: Body[];
  readonly placed: Doubt[];
  readonly loose: Doubt[];
  readonly missing: string[];
  readonly byPartG: Record<string, number>;
  readonly byMaterialG: Record<string, number>;
  boughtG: number;
};

function weigh(
  assembly: Assembly,
  pieceMass: Readonly<Record<string, PartMass>>,
  items: ReadonlyMap<string, HardwareItem>,
): { report: MassReport; tally: Tally } {
  const tally: Tally = { bodies: [], placed: [], loose: [], missing: [], byPartG: {}, byMaterialG: {}, boughtG: 0 };
  for (const part of assembly.parts) addPart(tally, part, pieceMass[part.id]);
  for (const mounted of assembly.hardware) addBought(tally, assembly.id, mounted, items);
  const children = assembly.children.map(({ assembly: child, place }) => {
    const weighed = weigh(child, pieceMass, items);
    addChild(tally, weighed.tally, place);
    return weighed.report;
  });
  const whole = combineBodies(tally.bodies);
  const massG = massFigure([...tally.placed, ...tally.loose], tally.boughtG);
  const report: MassReport = {
    assemblyId: assembly.id,
    name: assembly.name,
    massG,
    centreMm: whole.centreMm,
    inertiaGMm2: whole.inertiaGMm2,
    printedG: Object.values(tally.byPartG).reduce((sum, g) => sum + g, 0),
    boughtG: tally.boughtG,
    byMaterialG: tally.byMaterialG,
    byPartG: tally.byPartG,
    children,
    limits: checkLimits(assembly.limits, massG, whole, tally.placed),
    missing: [...new Set(tally.missing)],
  };
  return { report, tally };
}

function addPart(tally: Tally, part: PartSpec, estimated: PartMass | undefined): void {
  const massG: Figure | undefined =
    part.massG === undefined ? estimated?.massG : { value: part.massG, from: `${part.id}, stated` };
  const copies = Math.max(part.quantity, part.places.length);
  if (massG === undefined) {
    tally.missing.push(`${part.id}: no mass is known`);
    return;
  }
  add(tally.byPartG, part.id, copies * massG.value);
  add(tally.byMaterialG, part.materialId, copies * massG.value);
  const places = estimated === undefined ? [] : part.places;
  for (const place of places) {
    const body = transformBody(bodyOf(estimated!, massG.value), place);
    tally.bodies.push(body);
    tally.placed.push({ partId: part.id, massG, centreMm: body.centreMm });
  }
  for (let k = places.length; k < copies; k++) tally.loose.push({ partId: part.id, massG, centreMm: [0, 0, 0] });
  if (places.length < copies) {
    const why = estimated === undefined ? 'its shape is not known' : 'no place is stated';
    tally.missing.push(`${part.id}: ${why} for ${copies - places.length} of ${copies}`);
  }
}

/** The shape's centre and tensor at the mass that counts: a stated mass spreads as the estimated one does. */
function bodyOf({ massG, centreMm, inertiaGMm2 }: PartMass, valueG: number): Body {
  const share = massG.value === 0 ? 1 : valueG / massG.value;
  const [xx, yy, zz, xy, yz, zx] = inertiaGMm2;
  return {
    massG: valueG,
    centreMm,
    inertiaGMm2: [share * xx, share * yy, share * zz, share * xy, share * yz, share * zx],
  };
}

function addBought(
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
  for (const at of mounted.places) tally.bodies.push(pointBody(item.massG, at));
  if (mounted.places.length < count) {
    tally.missing.push(`${assemblyId}: no place is stated for ${count - mounted.places.length} of ${count} ${item.id}`);
  }
}

function addChild(tally: Tally, child: Tally, place: Placement): void {
  for (const body of child.bodies) tally.bodies.push(transformBody(body, place));
  for (const doubt of child.placed) tally.placed.push({ ...doubt, centreMm: applyAffine(place, doubt.centreMm) });
  tally.loose.push(...child.loose);
  tally.missing.push(...child.missing);
  for (const [id, g] of Object.entries(child.byPartG)) add(tally.byPartG, id, g);
  for (const [id, g] of Object.entries(child.byMaterialG)) add(tally.byMaterialG, id, g);
  tally.boughtG += child.boughtG;
}

function add(sums: Record<string, number>, key: string, amount: number): void {
  sums[key] = (sums[key] ?? 0) + amount;
}

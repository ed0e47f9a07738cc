import { applyAffine, composeAffine, IDENTITY_AFFINE } from '@stonehand/base';
import {
  type Bore,
  type Contact,
  type FitJudgement,
  featureFor,
  judgeFit,
  magnetsNear,
  type PlacedItem,
  type Printing,
  type Pull,
  type StackUp,
  stackUp,
} from '@stonehand/inspect';
import type { Assembly, Box, FitWish, Joint, Placement, Vec3, Workspace } from '@stonehand/model';
import { boresTask } from './bores-task.ts';
import type { Engine } from './engine.ts';
import { type JointOutcome, jointsTask, overlapTask, type PlacedMesh } from './joints-task.ts';
import { measureTask } from './measure-task.ts';
import { type PartWork, partWorks } from './part-work.ts';

/** One bought item in one part. Without `found` the part has no such bore or boss. */
export type FitCheck = Readonly<{
  partId: string;
  wish: FitWish;
  itemName: string;
  printerId: string;
  sizeFrom: string;
  found?: Readonly<{ feature: Bore; judgement: FitJudgement; shallow?: string }>;
}>;

export type FitChecks = Readonly<{
  fits: readonly FitCheck[];
  joints: readonly (JointOutcome & Readonly<{ assemblyId: string }>)[];
  /** parts that fill the same space though no joint says so */
  overlaps: readonly Readonly<{ between: readonly [string, string]; contact: Contact }>[];
  stacks: readonly StackUp[];
  pulls: readonly Readonly<{ assemblyId: string; pull: Pull }>[];
}>;

/** Whether things go together: bought items in their bores, declared joints in place, stacks of heights, steel near magnets. */
export async function fitChecks(engine: Engine, workspace: Workspace): Promise<FitChecks> {
  const works = await partWorks(engine, workspace);
  const byId = new Map(works.map((work) => [work.spec.id, work]));
  const layerMm = (partId: string): number | undefined => byId.get(partId)?.recipe.layerMm;
  const assemblies = [...everyAssembly(workspace.assemblies)];
  return {
    fits: await bought(engine, workspace, works),
    joints: await declared(engine, assemblies, byId),
    overlaps: await undeclared(engine, workspace.assemblies, assemblies, byId),
    stacks: assemblies.flatMap(({ stacks = [] }) => stacks.map((stack) => stackUp(stack, layerMm))),
    pulls: assemblies.flatMap((assembly) =>
      magnetsNear(placedItems(assembly, workspace)).map((pull) => ({ assemblyId: assembly.id, pull })),
    ),
  };
}

async function bought(engine: Engine, workspace: Workspace, works: readonly PartWork[]): Promise<FitCheck[]> {
  const wishing = works.filter(({ spec, ref }) => ref !== undefined && (spec.fits ?? []).length > 0);
  const outcomes = await engine.map(
    boresTask,
    wishing.map(({ ref }) => ({ mesh: ref! })),
    'bores',
  );
  return wishing.flatMap((work, i) => {
    const outcome = outcomes[i]!;
    return outcome.ok ? work.spec.fits!.map((wish) => checkOne(workspace, work, wish, outcome.value)) : [];
  });
}

function checkOne(workspace: Workspace, work: PartWork, wish: FitWish, bores: readonly Bore[]): FitCheck {
  const item = workspace.hardware.find(({ id }) => id === wish.itemId)!;
  const size = item.size!;
  const printer = work.printers[0] ?? workspace.printers[0]!;
  const base = { partId: work.spec.id, wish, itemName: item.name, printerId: printer.id, sizeFrom: size.from };
  const feature = featureFor(bores, size, wish);
  if (feature === undefined) return base;
  const { shrinkShare, shrinkBy } = work.material;
  const printing: Printing = {
    shrinkShare,
    ...(shrinkBy === undefined ? {} : { shrinkBy }),
    ...(printer.allowance === undefined ? {} : { allowance: printer.allowance }),
  };
  const shallow =
    wish.on === 'bore' && size.heightMm !== undefined && feature.depthMm < size.heightMm - 0.05
      ? `${feature.depthMm.toFixed(1)} mm deep for ${size.heightMm} mm`
      : undefined;
  return {
    ...base,
    found: {
      feature,
      judgement: judgeFit(feature, size, wish, printing),
      ...(shallow === undefined ? {} : { shallow }),
    },
  };
}

async function declared(
  engine: Engine,
  assemblies: readonly Assembly[],
  works: ReadonlyMap<string, PartWork>,
): Promise<FitChecks['joints']> {
  const inputs = assemblies.flatMap((assembly) => {
    const places = new Map(placesIn(assembly));
    return assembly.joints.map((joint) => ({ assemblyId: assembly.id, joint, parts: partsOf(joint, places, works) }));
  });
  const outcomes = await engine.map(
    jointsTask,
    inputs.map(({ joint, parts }) => ({ joint, parts })),
    'joints',
  );
  return outcomes.flatMap((outcome, i) =>
    outcome.ok ? [{ assemblyId: inputs[i]!.assemblyId, ...outcome.value }] : [],
  );
}

/** Printed noise and single precision: less is touching. */
const LEAST_OVERLAP_MM3 = 1;

/** Every two placed parts whose boxes meet and that no joint names together. Largest overlap first, one row for each two parts. */
async function undeclared(
  engine: Engine,
  roots: readonly Assembly[],
  assemblies: readonly Assembly[],
  works: ReadonlyMap<string, PartWork>,
): Promise<FitChecks['overlaps']> {
  const joined = new Set(
    assemblies.flatMap(({ joints }) => joints.map(({ between }) => pairName(between[0]!, between[1]!))),
  );
  const pairs = (await Promise.all(roots.map((root) => pairsIn(engine, root, works)))).flat();
  const asked = pairs.filter(([a, b]) => !joined.has(pairName(a.name, b.name)));
  const outcomes = await engine.map(
    overlapTask,
    asked.map((parts) => ({ parts })),
    'overlaps',
  );
  const worst = new Map<string, FitChecks['overlaps'][number]>();
  for (const [i, outcome] of outcomes.entries()) {
    if (!outcome.ok || outcome.value.overlapMm3 < LEAST_OVERLAP_MM3) continue;
    const [a, b] = asked[i]!;
    const name = pairName(a.name, b.name);
    if ((worst.get(name)?.contact.overlapMm3 ?? 0) < outcome.value.overlapMm3)
      worst.set(name, { between: [a.name, b.name], contact: outcome.value });
  }
  return [...worst.values()].sort((a, b) => b.contact.overlapMm3 - a.contact.overlapMm3);
}

function pairName(a: string, b: string): string {
  return a < b ? `${a}\n${b}` : `${b}\n${a}`;
}

async function pairsIn(
  engine: Engine,
  root: Assembly,
  works: ReadonlyMap<string, PartWork>,
): Promise<(readonly [PlacedMesh, PlacedMesh])[]> {
  const placed = placesIn(root).flatMap(([name, places]) => {
    const mesh = works.get(name)?.ref;
    return mesh === undefined ? [] : places.map((place): PlacedMesh => ({ name, mesh, place }));
  });
  const readings = await engine.map(
    measureTask,
    placed.map(({ mesh }) => ({ mesh, sectionsMm: [] })),
    'measuring',
  );
  const boxes = placed.map(({ place }, i) => {
    const reading = readings[i]!;
    return reading.ok ? boxInPlace(reading.value.boxMm, place) : undefined;
  });
  const pairs: (readonly [PlacedMesh, PlacedMesh])[] = [];
  for (const [i, a] of placed.entries()) {
    for (let j = i + 1; j < placed.length; j++) {
      const [one, other] = [boxes[i], boxes[j]];
      if (one !== undefined && other !== undefined && meet(one, other)) pairs.push([a, placed[j]!]);
    }
  }
  return pairs;
}

/** The box of a box's corners. */
function boxInPlace({ min, max }: Box, place: Placement): Box {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let corner = 0; corner < 8; corner++) {
    const at = applyAffine(place, [0, 1, 2].map((i) => ((corner >> i) & 1 ? max : min)[i]!) as unknown as Vec3);
    for (let i = 0; i < 3; i++) {
      low[i] = Math.min(low[i]!, at[i]!);
      high[i] = Math.max(high[i]!, at[i]!);
    }
  }
  return { min: low as unknown as Vec3, max: high as unknown as Vec3 };
}

function meet(a: Box, b: Box): boolean {
  return [0, 1, 2].every((i) => a.min[i]! < b.max[i]! && b.min[i]! < a.max[i]!);
}

/** The copy of each part that stands nearest to the joint. */
function partsOf(
  joint: Joint,
  places: ReadonlyMap<string, readonly Placement[]>,
  works: ReadonlyMap<string, PartWork>,
): PlacedMesh[] {
  return joint.between.flatMap((name) => {
    const mesh = works.get(name)?.ref;
    const [nearest] = [...(places.get(name) ?? [])].sort((a, b) => originDistance(a, joint) - originDistance(b, joint));
    return mesh === undefined || nearest === undefined ? [] : [{ name, mesh, place: nearest }];
  });
}

function originDistance(place: Placement, { atMm }: Joint): number {
  return Math.hypot(place[3]! - atMm[0], place[7]! - atMm[1], place[11]! - atMm[2]);
}

/** Every part's places in this assembly's axes, those of child assemblies included. */
function placesIn(assembly: Assembly, from: Placement = IDENTITY_AFFINE): [string, Placement[]][] {
  return [
    ...assembly.parts.map(({ id, places }): [string, Placement[]] => [
      id,
      places.map((place) => composeAffine(from, place)),
    ]),
    ...assembly.children.flatMap(({ assembly: child, place }) => placesIn(child, composeAffine(from, place))),
  ];
}

function* everyAssembly(assemblies: readonly Assembly[]): Generator<Assembly> {
  for (const assembly of assemblies) {
    yield assembly;
    yield* everyAssembly(assembly.children.map((child) => child.assembly));
  }
}

function placedItems({ hardware }: Assembly, workspace: Workspace): PlacedItem[] {
  const items = new Map(workspace.hardware.map((item) => [item.id, item]));
  return hardware.flatMap(({ itemId, places }) => {
    const item = items.get(itemId);
    if (item === undefined) return [];
    const magnetMm = item.size?.magnet === true ? item.size.outsideMm : undefined;
    return places.map((atMm) => ({
      itemId,
      atMm,
      magnetic: item.magnetic,
      ...(magnetMm === undefined ? {} : { magnetMm }),
    }));
  });
}

import { composeAffine, IDENTITY_AFFINE } from '@stonehand/base';
import {
  type Bore,
  type FitJudgement,
  featureFor,
  type JointCheck,
  judgeFit,
  magnetsNear,
  type PlacedItem,
  type Printing,
  type Pull,
  type StackUp,
  stackUp,
} from '@stonehand/inspect';
import type { Assembly, FitWish, Joint, Placement, Workspace } from '@stonehand/model';
import { boresTask } from './bores-task.ts';
import type { Engine } from './engine.ts';
import { jointsTask, type PlacedMesh } from './joints-task.ts';
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
  joints: readonly Readonly<{ assemblyId: string; check: JointCheck }>[];
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
    outcome.ok ? [{ assemblyId: inputs[i]!.assemblyId, check: outcome.value }] : [],
  );
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

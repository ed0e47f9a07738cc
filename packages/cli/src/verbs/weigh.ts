import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { nearestName, StonehandError } from '@stonehand/base';
import {
  type Engine,
  loadMesh,
  type Proposal,
  type ProposeOptions,
  proposeFor,
  type WeighResult,
  weighWorkspace,
} from '@stonehand/engine';
import type { Assembly, MassReport, Mesh } from '@stonehand/model';
import { assemblyGlb, renderProposal, renderWeigh, renderWeighPage } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from '../file-name.ts';
import type { Verb } from '../program.ts';
import { workspaceOnDisk } from '../workspace-of.ts';

type WeighOptions = Readonly<{
  lighten?: boolean;
  lightest?: boolean;
  ballast?: boolean;
  sure?: boolean;
  stiffness?: number;
  out?: string;
}>;

export const weigh: Verb<WeighOptions> = async ([wanted], options, context) => {
  const workspace = await workspaceOnDisk(undefined, options.units === undefined ? {} : { units: options.units });
  const engine = context.engine(workspace.root);
  const weighed = await weighWorkspace(engine, workspace);
  const all = workspace.assemblies.flatMap(withChildren);
  const asked = wanted === undefined ? workspace.assemblies : all.filter(({ id }) => id === wanted);
  if (asked.length === 0) throw unknown(wanted ?? '', all);
  const reportOf = new Map(weighed.mass.flatMap(reportsBelow).map((report) => [report.assemblyId, report]));
  const reports = asked.flatMap(({ id }) => reportOf.get(id) ?? []);
  const proposing = proposeOptions(options);
  const proposals: Proposal[] = [];
  for (const assembly of proposing === undefined ? [] : asked)
    proposals.push(await proposeFor(engine, workspace, assembly, weighed, proposing!));
  const units = workspace.unitsShown;
  const page = options.out === undefined ? undefined : join(resolve(options.out), 'weigh.html');
  if (page !== undefined) {
    const folder = resolve(options.out!);
    mkdirSync(folder, { recursive: true });
    const { shapes } = weighed;
    await replaceFile(page, renderWeighPage({ title: workspace.name, reports, proposals, shapes, units }));
    await writeModels(engine, weighed, reports, folder);
  }
  if (options.json === true) {
    context.print(
      JSON.stringify(
        reports.map((report, i) => (proposals[i] === undefined ? report : { ...report, proposed: proposals[i] })),
      ),
    );
  } else {
    const style = { width: context.width, colour: context.colour, units };
    context.print(renderWeigh(reports, style));
    reports.forEach((report, i) => {
      if (proposals[i] !== undefined) context.print(`\n${renderProposal(report, proposals[i], style)}`);
    });
    if (page !== undefined) context.print(`page: ${page}`);
  }
  return reports.flatMap(reportsBelow).some(({ limits }) => limits.some(({ margin }) => margin < 0)) ? 1 : 0;
};

/** Each assembly as a GLB with its centre of mass and the box it may lie in. */
async function writeModels(
  engine: Engine,
  { parts }: WeighResult,
  reports: readonly MassReport[],
  folder: string,
): Promise<void> {
  const refs = new Map(
    parts.flatMap(({ part: { spec, ref } }) => (ref === undefined ? [] : [[spec.id, ref] as const])),
  );
  for (const report of reports) {
    const ids = [...new Set((report.bodies ?? []).map(({ id }) => id))].filter((id) => refs.has(id));
    const meshes = new Map<string, Mesh>();
    for (const id of ids) meshes.set(id, (await loadMesh(refs.get(id)!, engine.cacheFolder)).mesh);
    await replaceFile(join(folder, `${fileNameOf(report.assemblyId)}.glb`), await assemblyGlb({ report, meshes }));
  }
}

function proposeOptions({ lighten, lightest, ballast, sure, stiffness }: WeighOptions): ProposeOptions | undefined {
  const lightens = lighten === true || lightest === true;
  if (!lightens && ballast !== true) return undefined;
  const aim = lightest === true ? 'lightest' : 'limits';
  return {
    ...(lightens
      ? { lighten: { aim, atEnds: sure === true, ...(stiffness === undefined ? {} : { stiffnessH: stiffness }) } }
      : {}),
    ballast: ballast === true,
  };
}

function unknown(wanted: string, all: readonly Assembly[]): StonehandError {
  const near = nearestName(
    wanted,
    all.map(({ id }) => id),
  );
  return new StonehandError(
    'DATA_UNKNOWN',
    `there is no assembly "${wanted}"`,
    near === undefined ? 'Name one of the folders with an assembly.yaml.' : `Did you mean "${near}"?`,
  );
}

function withChildren(assembly: Assembly): Assembly[] {
  return [assembly, ...assembly.children.flatMap((child) => withChildren(child.assembly))];
}

function reportsBelow(report: MassReport): MassReport[] {
  return [report, ...report.children.flatMap(reportsBelow)];
}

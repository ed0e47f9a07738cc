import { relative, resolve, sep } from 'node:path';
import { StonehandError } from '@stonehand/base';
import {
  allParts,
  type EstimateRow,
  estimateFiles,
  type FileToEstimate,
  learningFrom,
  whyNotPrintable,
} from '@stonehand/engine';
import { DEPTH_BOUNDS, plateSaving, type SampledDepth } from '@stonehand/estimate';
import type { Estimate, PartSpec, PlateSaving, Workspace } from '@stonehand/model';
import { renderEstimate, renderHollow, renderWhatIf, savingSentence, wrapText } from '@stonehand/report';
import { findWorkspaceRoot, loadWorkspace } from '@stonehand/shop';
import type { Context } from '../context.ts';
import { pickById } from '../pick-by-id.ts';
import { findingLines } from '../printing-lines.ts';
import type { Verb } from '../program.ts';
import { type Found, workspaceOf } from '../workspace-of.ts';

type EstimateOptions = Readonly<{
  recipe?: string;
  printer?: string;
  material?: string;
  unit?: string;
  bed?: string;
  whatIf?: boolean;
  hollow?: number;
  depth?: Estimate['mode'];
}>;

export const estimate: Verb<EstimateOptions> = async (names, options, context) => {
  if (names.length === 0)
    throw new StonehandError(
      'USAGE',
      'estimate: no file is named',
      'Name one or more mesh files, such as: stonehand estimate skull.stl',
    );
  const { workspace, onDisk } = await shopAround(names[0]!, options);
  const files = names.map((name) => printedHow(name, workspace, options));
  const engine = context.engine(onDisk ? workspace.root : undefined);
  const rows = await estimateFiles(engine, files, {
    ...(onDisk ? { learning: await learningFrom(engine, workspace) } : {}),
    whatIf: options.whatIf === true,
    ...(options.depth === undefined ? {} : { depth: options.depth }),
    ...(options.hollow === undefined ? {} : { hollowMm: options.hollow }),
  });
  if (options.json === true) context.print(JSON.stringify(rows.map(jsonOf)));
  else {
    for (const line of onDisk ? [] : workspace.assumed.slice(0, 3)) context.say(line);
    show(rows, files, workspace, context);
  }
  return rows.some((row) => 'error' in row) ? 2 : 0;
};

/** A file in a workspace is printed with its shop; `--bed` asks for a plain printer instead. */
async function shopAround(name: string, options: EstimateOptions): Promise<Found> {
  const root = options.bed === undefined ? await findWorkspaceRoot(resolve(name)) : undefined;
  return root === undefined ? workspaceOf(name, options) : { workspace: await loadWorkspace(root), onDisk: true };
}

/** What is stated wins; then what the workspace says of the part with that mesh; then the first of each list. */
function printedHow(file: string, workspace: Workspace, options: EstimateOptions): FileToEstimate {
  const part = partOf(file, workspace);
  const { unit } = options;
  const material = pickById(workspace.materials, options.material ?? part?.materialId, 'material');
  const recipe = pickById(workspace.recipes, options.recipe ?? part?.recipeId, 'recipe');
  const printers = workspace.printers.filter(
    (printer) => whyNotPrintable(printer, material, recipe, part) === undefined,
  );
  const printer =
    options.printer === undefined && printers.length > 0
      ? printers[0]!
      : pickById(workspace.printers, options.printer, 'printer');
  const accepted = part === undefined ? undefined : workspace.accepted.poses[part.id]?.rotation;
  return {
    file,
    recipe,
    printer,
    material,
    opaque: part?.opaque === true,
    ...(part === undefined ? {} : { scale: part.scale }),
    ...(part?.mirror === undefined ? {} : { mirror: part.mirror }),
    ...(accepted === undefined ? {} : { accepted }),
    ...(unit === undefined ? (part?.unitFrom === 'stated' ? { unit: part.unit } : {}) : { unit }),
  };
}

function partOf(file: string, workspace: Workspace): PartSpec | undefined {
  const meshFile = relative(workspace.root, resolve(file)).split(sep).join('/');
  return [...allParts(workspace.assemblies)].find((part) => part.meshFile === meshFile);
}

/** Of files that can share a plate: one printer, recipe and material. */
function savingOf(estimates: readonly Estimate[], files: readonly FileToEstimate[]): PlateSaving | undefined {
  const [first] = files;
  if (first === undefined || estimates.length < 2 || estimates.length < files.length) return undefined;
  const { recipe, printer, material } = first;
  if (files.some((file) => file.recipe !== recipe || file.printer !== printer || file.material !== material))
    return undefined;
  return plateSaving({ layerS: estimates.map(({ layerS }) => layerS), recipe, printer });
}

function jsonOf(row: EstimateRow): object {
  if ('error' in row) return row;
  const { estimate, pose: _, file: __, ...more } = row;
  return { ...estimate, ...more };
}

function show(
  rows: readonly EstimateRow[],
  files: readonly FileToEstimate[],
  workspace: Workspace,
  context: Context,
): void {
  const text = { width: context.width, colour: context.colour, units: workspace.unitsShown };
  const estimates = rows.flatMap((row) => ('error' in row ? [] : [row.estimate]));
  context.print(renderEstimate(estimates, text));
  const depth = estimates.find(({ mode }) => mode !== 'full')?.mode;
  if (depth === 'quick' || depth === 'rank') context.print(boundSentence(depth));
  const together = savingOf(estimates, files);
  if (together !== undefined) context.print(wrapText(savingSentence(together), context.width).join('\n'));
  for (const [i, row] of rows.entries()) {
    if ('error' in row) {
      context.say(`${row.error.message}\n  ${row.error.remedy}`);
      continue;
    }
    context.print(`${row.file}: ${row.pose}`);
    for (const finding of row.findings)
      for (const line of findingLines(finding, '', context.width)) context.print(line);
    if (row.hollow !== undefined) context.print(renderHollow(row.hollow, text));
    if (row.whatIf !== undefined) context.print(`\n${renderWhatIf(row.whatIf, files[i]!.recipe, text)}`);
  }
}

function boundSentence(depth: SampledDepth): string {
  const { mass, time } = DEPTH_BOUNDS[depth];
  return `${depth}: from some of the layers; plastic within ${100 * mass} %, time within ${100 * time} % of what --depth full says`;
}

import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Engine, PlanResult, SlicedPiece } from '@stonehand/engine';
import type { Plan } from '@stonehand/model';
import {
  type MarkedPictures,
  meshesToLookAt,
  renderCalendar,
  renderCsv,
  renderMarkdown,
  renderPage,
} from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import { trianglesAPiece } from '@stonehand/view';
import { glbTask, layersTask, type PosedInput, pictureTask, shapeTask } from './drawing-tasks.ts';
import { fileNameOf } from './file-name.ts';
import { marksTask } from './marks-task.ts';
import { replaceFolder } from './replace-folder.ts';
import { writePlates } from './write-plates.ts';
import { writeSheets } from './write-sheets.ts';

export type WriteOptions = Readonly<{
  layersOf?: readonly string[];
  /** support as objects of its own in the plates' files, and as STL beside them */
  withSupport?: boolean;
}>;

/** What was written, for the closing lines of the command. */
export type Written = Readonly<{ folder: string; page: string; plates: number; parts: number }>;

/**
 * Writes a plan: page.html, plan.json, plan.md, tables as CSV, todo.ics, a 3MF, SVG and PNG a plate, the sheets to print, a GLB a piece. Every file is written beside and renamed;
 * files of an earlier plan that this one does not have are removed from the two folders that hold only such files. layersOf: parts by id whose bead paths
 * the page carries.
 */
export async function writePlan(
  engine: Engine,
  { plan, pieces, parts }: PlanResult,
  folder: string,
  { layersOf = [], withSupport = false }: WriteOptions = {},
): Promise<Written> {
  mkdirSync(folder, { recursive: true });
  const pictures = await picturesOf(engine, pieces);
  await writeTexts(plan, folder, {
    pictures,
    marked: await markedOf(engine, plan, parts),
    shapes: await shapesOf(engine, pieces),
    layers: await layersFor(
      engine,
      pieces.filter(({ piece }) => layersOf.includes(piece.partId)),
    ),
  });
  await writePlates(engine, plan, pieces, join(folder, 'plates'), withSupport);
  await writeSheets(plan, folder, pictures);
  await writePieces(engine, pieces, join(folder, 'pieces'));
  return { folder, page: join(folder, 'page.html'), plates: plan.plates.length, parts: pieces.length };
}

/** What the page shows beside the plan, by piece id. */
export type PageExtras = Readonly<{
  pictures?: Readonly<Record<string, Uint8Array>>;
  /** by part id */
  marked?: MarkedPictures;
  shapes?: Readonly<Record<string, string>>;
  layers?: Readonly<Record<string, string>>;
}>;

/** The outputs that a plan.json alone is enough for. */
export async function writeTexts(
  plan: Plan,
  folder: string,
  { pictures = {}, marked = {}, ...view }: PageExtras,
): Promise<void> {
  mkdirSync(folder, { recursive: true });
  await replaceFile(join(folder, 'plan.json'), `${JSON.stringify(plan)}\n`);
  await replaceFile(
    join(folder, 'page.html'),
    renderPage({ plan, pictures, marked, view: { script: pageScript(), ...view } }),
  );
  await replaceFile(join(folder, 'plan.md'), renderMarkdown(plan));
  await replaceFile(join(folder, 'todo.ics'), renderCalendar(plan));
  for (const [name, text] of Object.entries(renderCsv(plan))) await replaceFile(join(folder, name), text);
}

/** Meshes that are to be looked at, as they are in their files, with the places of their findings marked. */
async function markedOf(engine: Engine, plan: Plan, parts: PlanResult['parts']): Promise<MarkedPictures> {
  const ids = meshesToLookAt(plan).map(({ partId }) => partId);
  const works = ids.flatMap((id) => parts.find(({ part }) => part.spec.id === id && part.ref !== undefined) ?? []);
  const outcomes = await engine.map(
    marksTask,
    works.map(({ part }) => ({
      mesh: part.asInFile ?? part.ref!,
      // Bodies that were united overlap, which a plan does not look for otherwise.
      crossings: part.asInFile !== undefined,
    })),
    'pictures of findings',
  );
  return Object.fromEntries(
    outcomes.flatMap((outcome, i) => {
      if (!outcome.ok || outcome.value === null) return [];
      const { png, kinds } = outcome.value;
      return [[works[i]!.part.spec.id, { png: Buffer.from(png, 'base64'), kinds }] as const];
    }),
  );
}

/** Built from package view; it lies beside the command. */
function pageScript(): string {
  return readFileSync(new URL('./page.js', import.meta.url), 'utf8');
}

async function shapesOf(engine: Engine, pieces: readonly SlicedPiece[]): Promise<Record<string, string>> {
  const mostTriangles = trianglesAPiece(pieces.length);
  const outcomes = await engine.map(
    shapeTask,
    pieces.map(({ work }) => ({ mesh: work.ref, mostTriangles })),
    'shapes for the page',
  );
  return Object.fromEntries(
    outcomes.flatMap((outcome, i) => (outcome.ok ? [[pieces[i]!.piece.id, outcome.value] as const] : [])),
  );
}

/** All bead paths of a page together: 1 MB in base64. */
const LAYER_BYTES_A_PAGE = 750_000;

async function layersFor(engine: Engine, pieces: readonly SlicedPiece[]): Promise<Record<string, string>> {
  const sliced = pieces.filter(({ work }) => work.printers.length > 0);
  const mostBytes = Math.floor(LAYER_BYTES_A_PAGE / Math.max(1, sliced.length));
  const outcomes = await engine.map(
    layersTask,
    sliced.map((piece) => ({
      ...posedInput(piece),
      recipe: piece.work.part.recipe,
      material: piece.work.part.material,
      printer: piece.work.printers[0]!,
      mostBytes,
    })),
    'layers for the page',
  );
  return Object.fromEntries(
    outcomes.flatMap((outcome, i) => (outcome.ok ? [[sliced[i]!.piece.id, outcome.value] as const] : [])),
  );
}

async function picturesOf(engine: Engine, pieces: readonly SlicedPiece[]): Promise<Record<string, Uint8Array>> {
  const outcomes = await engine.map(
    pictureTask,
    pieces.map((piece) => ({ ...posedInput(piece), ...pictureSize(pieces.length) })),
    'pictures',
  );
  const pictures: Record<string, Uint8Array> = {};
  for (const [i, outcome] of outcomes.entries()) {
    if (outcome.ok) pictures[pieces[i]!.piece.id] = Buffer.from(outcome.value, 'base64');
  }
  return pictures;
}

/** Twice the size at which the page shows them, for sharp screens; a page of very many keeps them just above it. */
function pictureSize(pieces: number): Readonly<{ widthPx: number; heightPx: number }> {
  return pieces <= MANY_PIECES ? { widthPx: 440, heightPx: 220 } : { widthPx: 200, heightPx: 100 };
}

const MANY_PIECES = 150;

function posedInput({ piece, work }: SlicedPiece): PosedInput {
  return {
    mesh: work.ref,
    pose: piece.pose,
    overhangFromVerticalDeg: work.part.recipe.overhangFromVerticalDeg,
    name: piece.id,
  };
}

async function writePieces(engine: Engine, pieces: readonly SlicedPiece[], folder: string): Promise<void> {
  const outcomes = await engine.map(glbTask, pieces.map(posedInput), 'models to look at');
  await replaceFolder(
    folder,
    outcomes.flatMap((outcome, i) =>
      outcome.ok ? [[`${fileNameOf(pieces[i]!.piece.id)}.glb`, Buffer.from(outcome.value, 'base64')] as const] : [],
    ),
  );
}

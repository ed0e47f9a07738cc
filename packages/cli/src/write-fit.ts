import { mkdirSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { type Engine, type FitOutcome, keyOfMesh, loadMesh, type MeshRef, type Task } from '@stonehand/engine';
import { transformMesh } from '@stonehand/mesh';
import type { Box, Mesh, Pose, Printer, Recipe } from '@stonehand/model';
import { fitHull, poseMesh, shadowHull, supportColumns } from '@stonehand/orient';
import { type FitPage, type FitText, partGlb, posePng, renderFitPage } from '@stonehand/report';
import { replaceFile } from '@stonehand/shop';
import type { Base64 } from './drawing-tasks.ts';
import { fileNameOf } from './file-name.ts';

export type FitPictureInput = Readonly<{
  name: string;
  mesh: MeshRef;
  recipe: Recipe;
  pose: Pose;
  /** drawn under it where it fits */
  printer?: Pick<Printer, 'plate' | 'usable' | 'keepOut'>;
  supportIn?: readonly Box[];
  widthPx: number;
  heightPx: number;
  glb: boolean;
}>;

/** A part on the bed, overhangs coloured, support seen through; and the same as GLB. */
export const fitPictureTask: Task<FitPictureInput, Readonly<{ png: Base64; glb?: Base64 }>> = {
  name: 'fit picture',
  keyed: ({ mesh, pose, printer, ...rest }) => ({
    ...rest,
    mesh: keyOfMesh(mesh),
    rotation: pose.rotation,
    ...(printer && { plate: printer.plate, usable: printer.usable, keepOut: printer.keepOut }),
  }),
  async run({ name, mesh: ref, recipe, pose, printer, supportIn, widthPx, heightPx, glb }, { cacheFolder }) {
    const { mesh } = await loadMesh(ref, cacheFolder);
    const part = poseMesh(mesh, pose);
    const support = supportColumns(mesh, pose.rotation, recipe, supportIn === undefined ? {} : { supportIn });
    const placed = printer === undefined ? undefined : placeOn(shadowHull(mesh, pose), printer, recipe);
    const moved = (m: Mesh): Mesh => (placed === undefined ? m : transformMesh(m, placed));
    const overhangFromVerticalDeg = recipe.overhangFromVerticalDeg;
    const png = posePng(moved(part), {
      widthPx,
      heightPx,
      overhangFromVerticalDeg,
      ...(support && { support: moved(support) }),
      ...(placed && printer && { bed: printer.plate }),
    });
    const model = glb ? await partGlb(part, { name, overhangFromVerticalDeg, ...(support && { support }) }) : undefined;
    return {
      png: Buffer.from(png).toString('base64'),
      ...(model && { glb: Buffer.from(model).toString('base64') }),
    };
  },
};

/** Row-major 3 × 4: turned and moved to where it fits, in the middle where there is room. */
function placeOn(
  hullXY: Float64Array,
  { usable, keepOut }: Pick<Printer, 'usable' | 'keepOut'>,
  { brimMm }: Recipe,
): Parameters<typeof transformMesh>[1] | undefined {
  const fit = fitHull(hullXY, usable, { brimMm, keepOut });
  if (fit.atMm === undefined) return undefined;
  const rad = (fit.turnDeg * Math.PI) / 180;
  const [c, s] = [Math.cos(rad), Math.sin(rad)];
  return [c, -s, 0, fit.atMm[0], s, c, 0, fit.atMm[1], 0, 0, 1, 0];
}

const MOST_WAYS = 6;

/** index.html, and for each part a picture, its GLB and small pictures of its other ways up. */
export async function writeFitPage(
  engine: Engine,
  outcomes: readonly FitOutcome[],
  text: FitText & Readonly<{ title: string }>,
  out: string,
): Promise<string> {
  const folder = resolve(out);
  mkdirSync(folder, { recursive: true });
  const jobs = outcomes.flatMap((outcome) => {
    const { part, poses } = outcome;
    return poses.slice(0, part.ref === undefined ? 0 : MOST_WAYS).map((pose, i) => {
      const printer = part.printers.find(({ id }) =>
        outcome.fits.some(
          (f) => f.printerId === id && f.poseId === pose.id && f.verdict !== 'no' && f.verdict !== 'split',
        ),
      );
      const { support } = part.spec;
      return {
        outcome,
        input: {
          name: part.spec.name,
          mesh: part.ref!,
          recipe: part.recipe,
          pose,
          ...(printer && { printer }),
          ...(typeof support === 'object' && { supportIn: support }),
          ...(i === 0 ? { widthPx: 1280, heightPx: 640, glb: true } : { widthPx: 440, heightPx: 240, glb: false }),
        },
        file: `${fileNameOf(part.spec.id)}${i === 0 ? '' : `-${i + 1}`}`,
      };
    });
  });
  const drawn = await engine.map(
    fitPictureTask,
    jobs.map(({ input }) => input),
    'pictures',
  );
  const parts: FitPage['parts'][number][] = [];
  for (const outcome of outcomes) {
    const row = text.rows.find(({ partId }) => partId === outcome.part.spec.id);
    const ways: FitPage['parts'][number]['ways'][number][] = [];
    for (const [k, job] of jobs.entries()) {
      const result = drawn[k]!;
      if (job.outcome !== outcome || !result.ok) continue;
      await replaceFile(join(folder, `${job.file}.png`), Buffer.from(result.value.png, 'base64'));
      if (result.value.glb !== undefined) {
        await replaceFile(join(folder, `${job.file}.glb`), Buffer.from(result.value.glb, 'base64'));
      }
      const { recipe, material } = outcome.part;
      const supportG = (job.input.pose.supportMm3 * recipe.supportShare * material.densityGPerCm3) / 1000;
      ways.push({ pose: job.input.pose, picture: `${job.file}.png`, supportG });
    }
    if (row === undefined || ways.length === 0) continue;
    const base = fileNameOf(outcome.part.spec.id);
    const { overhangFromVerticalDeg } = outcome.part.recipe;
    parts.push({ row, picture: `${base}.png`, glb: `${base}.glb`, overhangFromVerticalDeg, ways });
  }
  const order = new Map(text.rows.map(({ partId }, i) => [partId, i]));
  parts.sort((a, b) => order.get(a.row.partId)! - order.get(b.row.partId)!);
  const page = join(folder, 'index.html');
  await replaceFile(page, renderFitPage({ ...text, parts }));
  return page;
}

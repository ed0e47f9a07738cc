import { resolve } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { calibrated, hollowSaving, machineFindings } from '@stonehand/estimate';
import type {
  Estimate,
  Fault,
  Finding,
  HollowOffer,
  HollowPrint,
  HollowSaving,
  Material,
  Pose,
  Printer,
  Reading,
  Recipe,
  WhatIfRow,
} from '@stonehand/model';
import type { Engine, Outcome } from './engine.ts';
import { estimateTask } from './estimate-task.ts';
import type { Learning } from './learn.ts';
import { limitsTask } from './limits-task.ts';
import { measureTask } from './measure-task.ts';
import type { MeshRef } from './mesh-ref.ts';
import { type Offers, offersTask } from './offers-task.ts';
import { withWayToMend } from './part-readings.ts';
import { poseTask } from './pose-task.ts';

/** A mesh file and how it is to be printed. */
export type FileToEstimate = Readonly<{
  file: string;
  recipe: Recipe;
  printer: Printer;
  material: Material;
  unit?: string;
  scale?: number;
  mirror?: 'x' | 'y' | 'z';
  /** a pose that was accepted */
  accepted?: readonly number[];
  opaque?: boolean;
}>;

/** What else could be done with the piece, corrected as its estimate is. */
type OffersShown = Readonly<{
  whatIf?: readonly WhatIfRow[];
  hollow?: HollowOffer & Readonly<{ saves: Readonly<Record<'offset' | 'selfClosing', HollowSaving>> }>;
}>;

export type EstimateRow =
  | (Readonly<{ file: string; estimate: Estimate; pose: string; findings: readonly Finding[] }> & OffersShown)
  | Readonly<{ file: string; error: Fault }>;

export type EstimateFilesOptions = Readonly<{
  pose?: 'auto' | 'asModelled';
  seed?: number;
  /** corrections from the ledger */
  learning?: Learning;
  whatIf?: boolean;
  hollowMm?: number;
  /** how thoroughly; what-if rows and hollowing are always full */
  depth?: Estimate['mode'];
}>;

type Job = FileToEstimate & Readonly<{ index: number; ref: MeshRef; pose: Pose }>;

/** Grams, metres and seconds of mesh files, each in its best pose (or its own), one row a file in order; what else was asked for beside them. */
export async function estimateFiles(
  engine: Engine,
  files: readonly FileToEstimate[],
  options: EstimateFilesOptions = {},
): Promise<EstimateRow[]> {
  const rows = new Array<EstimateRow>(files.length);
  const jobs = await posedJobs(engine, files, options, rows);
  const estimates = await engine.map(
    estimateTask,
    jobs.map(({ file, ref, pose, recipe, material, printer }) => ({
      pieceId: file,
      mesh: ref,
      pose,
      recipe,
      material,
      printers: [printer],
      ...(options.depth && { depth: options.depth }),
    })),
    'slicing',
  );
  const findings = await engine.map(
    limitsTask,
    jobs.map(({ ref, pose, recipe, material, printer, opaque = false }) => ({
      mesh: ref,
      pose,
      recipe,
      material,
      printer,
      opaque,
    })),
    'limits',
  );
  const readings = await engine.map(
    measureTask,
    jobs.map(({ ref }) => ({ mesh: ref, sectionsMm: [] })),
    'measuring',
  );
  const offers = await offersOf(engine, jobs, options);
  for (const [i, job] of jobs.entries()) {
    const outcome = estimates[i]!;
    const { file, index, pose, printer, material, recipe } = job;
    if (!outcome.ok) {
      rows[index] = { file, error: outcome.fault };
      continue;
    }
    const estimate = corrected({ ...outcome.value.estimates[0]!, pieceId: file }, options.learning);
    const found = findings[i]!;
    rows[index] = {
      file,
      estimate,
      pose: pose.reason,
      findings: [
        ...doubtsAbout(readings[i]!),
        ...machineFindings(printer, material, recipe),
        ...(found.ok ? found.value : []),
      ],
      ...correctedOffers(offers[i] ?? {}, estimate, options.learning),
    };
  }
  return rows;
}

/** What spoils the figures from the start: a mesh that is not sound. */
function doubtsAbout(reading: Outcome<Reading>): readonly Finding[] {
  if (!reading.ok) return [];
  return reading.value.findings.filter(({ severity }) => severity !== 'note').map(withWayToMend);
}

async function posedJobs(
  engine: Engine,
  files: readonly FileToEstimate[],
  { pose: rule = 'auto', seed = 1 }: EstimateFilesOptions,
  rows: EstimateRow[],
): Promise<Job[]> {
  const refs = await Promise.all(files.map((file) => refOf(engine, file)));
  const good: Omit<Job, 'pose'>[] = [];
  for (const [index, ref] of refs.entries()) {
    const file = files[index]!;
    if ('code' in ref) rows[index] = { file: file.file, error: ref };
    else good.push({ ...file, index, ref });
  }
  const poses = await engine.map(
    poseTask,
    good.map(({ ref, recipe, accepted }) => ({
      mesh: ref,
      recipe,
      rule,
      seed,
      ...(accepted === undefined ? {} : { accepted }),
    })),
    'which way up',
  );
  return good.flatMap((job, i) => {
    const outcome = poses[i]!;
    if (outcome.ok) return [{ ...job, pose: outcome.value[0]!.pose }];
    rows[job.index] = { file: job.file, error: outcome.fault };
    return [];
  });
}

async function refOf(engine: Engine, { file, unit, scale = 1, mirror }: FileToEstimate): Promise<MeshRef | Fault> {
  try {
    const path = resolve(file);
    const contentHash = await engine.content.hashOf(path, file);
    return {
      name: file,
      path,
      contentHash,
      scale,
      ...(unit === undefined ? {} : { unit }),
      ...(mirror === undefined ? {} : { mirror }),
    };
  } catch (error) {
    if (!(error instanceof StonehandError)) throw error;
    const { code, message, remedy } = error;
    return { code, message, remedy };
  }
}

async function offersOf(
  engine: Engine,
  jobs: readonly Job[],
  { whatIf = false, hollowMm }: EstimateFilesOptions,
): Promise<Offers[]> {
  if (!whatIf && hollowMm === undefined) return [];
  const outcomes = await engine.map(
    offersTask,
    jobs.map(({ ref, pose, recipe, material, printer }) => ({
      mesh: ref,
      pose,
      recipe,
      material,
      printer,
      whatIf,
      ...(hollowMm === undefined ? {} : { hollowMm }),
    })),
    'other recipes',
  );
  return outcomes.map((outcome) => (outcome.ok ? outcome.value : {}));
}

function corrected(estimate: Estimate, learning: Learning | undefined): Estimate {
  return learning === undefined ? estimate : calibrated(estimate, learning.of(estimate));
}

function correctedOffers(
  { whatIf, hollow }: Offers,
  estimate: Pick<Estimate, 'materialId' | 'printerId'>,
  learning: Learning | undefined,
): OffersShown {
  const learnt = learning?.of(estimate);
  const as = <F extends Parameters<typeof calibrated>[0]>(figures: F): F =>
    learnt === undefined ? figures : calibrated(figures, learnt);
  return {
    ...(whatIf === undefined ? {} : { whatIf: whatIf.map(as) }),
    ...(hollow === undefined ? {} : { hollow: shown({ ...hollow, ...mapped(hollow, as) }) }),
  };
}

function mapped(
  { whole, offset, selfClosing }: HollowOffer,
  as: (print: HollowPrint) => HollowPrint,
): Pick<HollowOffer, 'whole' | 'offset' | 'selfClosing'> {
  return { whole: as(whole), offset: as(offset), selfClosing: as(selfClosing) };
}

function shown(hollow: HollowOffer): NonNullable<OffersShown['hollow']> {
  const saves = { offset: hollowSaving(hollow, hollow.offset), selfClosing: hollowSaving(hollow, hollow.selfClosing) };
  return { ...hollow, saves };
}

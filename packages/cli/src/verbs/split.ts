import { StonehandError } from '@stonehand/base';
import { loadMesh, posedPieces, type SplitInput, type SplitOutcome, splitInputOf, splitTask } from '@stonehand/engine';
import { boundingBox, massProperties } from '@stonehand/mesh';
import type { CutJoint } from '@stonehand/model';
import { renderSplit, type SplitText } from '@stonehand/report';
import { type JointWish, joiningOrder, pinsToCut } from '@stonehand/split';
import { keepProposal } from '../cut-proposal.ts';
import { cutOf, sparedOf } from '../cut-words.ts';
import { hollowPart } from '../hollow-part.ts';
import { type NamedPart, partNamed } from '../part-named.ts';
import type { Verb } from '../program.ts';
import { writePieces } from '../write-pieces.ts';

type SplitOptions = Readonly<{
  bed?: string;
  on?: string;
  pieces?: number;
  cut?: readonly string[];
  spare?: readonly string[];
  joint?: JointWish;
  glueGap?: number;
  gap?: number;
  anew?: boolean;
  hollow?: number;
  out?: string;
  unit?: string;
}>;

export const split: Verb<SplitOptions> = async ([name], options, context) => {
  if (name === undefined)
    throw new StonehandError('USAGE', 'split: no part is named', 'Name a mesh file, or a part of the workspace.');
  const named = await partNamed(name, options, context);
  if (options.hollow !== undefined) {
    const { hollow: wallMm, out } = options;
    return hollowPart(named, { wallMm, json: options.json === true, ...(out === undefined ? {} : { out }) }, context);
  }
  const input = inputOf(named, options);
  const { engine, part, workspace } = named;
  const outcome = await engine.one(splitTask, input, 'where to cut');
  const row = await rowOf(named, outcome, input.accepted !== undefined);
  const shown = { units: options.units ?? workspace.unitsShown };
  if (options.out !== undefined) {
    const text = renderSplit(row, shown);
    row.files.push(...(await writePieces(outcome, { partName: part.name, out: options.out, engine, text })));
  }
  if (named.onDisk && input.accepted === undefined && outcome.planes.length > 0) await keep(named, outcome, options);
  context.print(
    options.json === true
      ? JSON.stringify(jsonOf(row, outcome))
      : renderSplit(row, { width: context.width, colour: context.colour, ...shown }),
  );
  const cutInVain = outcome.planes.length > 0 && row.pieces.some(({ printers }) => printers.length === 0);
  return cutInVain ? 1 : 0;
};

/** Accepted cuts stay unless a new search is asked for; what is asked of a new search is refused without it. */
function inputOf({ work, printers, workspace }: NamedPart, options: SplitOptions): SplitInput {
  const { spec } = work;
  if (spec.split === 'never')
    throw new StonehandError('USAGE', `${spec.id} is marked split: never`, 'Take that out of its assembly.yaml first.');
  const { accepted, ...input } = splitInputOf(work, printers, workspace);
  const { pieces, cut, spare, joint, glueGap, gap, anew } = options;
  if (accepted !== undefined && anew !== true && (pieces !== undefined || cut !== undefined || spare !== undefined)) {
    throw new StonehandError(
      'USAGE',
      `the cuts of ${spec.id} are accepted and stay as they are`,
      'Add --anew to search again; accept then replaces them.',
    );
  }
  return {
    ...input,
    seed: workspace.seed,
    ...(accepted === undefined || anew === true ? {} : { accepted }),
    ...(pieces === undefined ? {} : { pieces }),
    ...(cut === undefined ? {} : { fixed: cut.map(cutOf) }),
    ...(spare === undefined ? {} : { spared: spare.map(sparedOf) }),
    ...(joint === undefined ? {} : { joint }),
    ...(glueGap === undefined ? {} : { glueGapMm: glueGap }),
    ...(gap === undefined ? {} : { gapPerSideMm: gap }),
  };
}

async function rowOf(
  { part, work, printers, engine, workspace }: NamedPart,
  outcome: SplitOutcome,
  accepted: boolean,
): Promise<SplitText & { files: string[] }> {
  const posed = await posedPieces(engine, { ...work, printers }, outcome, { seed: workspace.seed });
  const gPerMm3 = work.material.densityGPerCm3 / 1000;
  const pieces: SplitText['pieces'][number][] = [];
  for (const { id, ref, key } of outcome.pieces) {
    const { mesh } = await loadMesh(ref, engine.cacheFolder);
    const { min, max } = boundingBox(mesh);
    pieces.push({
      id,
      sizeMm: [max[0] - min[0], max[1] - min[1], max[2] - min[2]],
      solidG: massProperties(mesh).volumeMm3 * gPerMm3,
      printers:
        posed.find((piece) => piece.id === `${work.spec.id}/${id}`)?.printers.map((printer) => printer.id) ?? [],
      ...(key === true ? { key } : {}),
    });
  }
  const supportMm3 = posed.reduce((sum, { pose }) => sum + pose.supportMm3, 0);
  const bare = (pieceId: string): string => pieceId.slice(pieceId.lastIndexOf('/') + 1);
  return {
    file: part.name,
    planes: outcome.planes,
    bound: outcome.bound,
    ...(outcome.slabs === undefined ? {} : { slabs: outcome.slabs }),
    accepted,
    symmetric: outcome.symmetric === true,
    crossed: outcome.crossed ?? 0,
    ...(posed.length === 0 ? {} : { supportG: supportMm3 * work.recipe.supportShare * gPerMm3 }),
    pieces,
    joints: outcome.joints,
    glueMm3: outcome.glueMm3,
    ...(outcome.refused === undefined ? {} : { refused: outcome.refused }),
    together: joiningOrder(outcome.planes, outcome.joints).map(({ lower, upper }) => ({
      lower: lower.map(bare),
      upper: upper.map(bare),
    })),
    pins: pinsToCut(outcome.joints),
    files: [],
  };
}

async function keep({ work, engine }: NamedPart, { planes }: SplitOutcome, { joint }: SplitOptions): Promise<void> {
  const kind: CutJoint | undefined = joint === 'auto' ? undefined : joint;
  await keepProposal(engine.cacheFolder, {
    partId: work.spec.id,
    meshHash: work.ref!.contentHash,
    planes: planes.map((plane) => ({ ...plane, ...(kind === undefined ? {} : { joint: kind }) })),
  });
}

function jsonOf(row: SplitText, outcome: SplitOutcome): object {
  const places = new Map(outcome.pieces.map(({ id, partFromPiece }) => [id, partFromPiece]));
  const pieces = row.pieces.map((piece) => ({ ...piece, partFromPiece: places.get(piece.id) }));
  return { ...row, pieces, ...(outcome.search === undefined ? {} : { search: outcome.search }) };
}

import type { Joint, Plan, Ring, Vec3 } from '@stonehand/model';
import { lieText, poseFacts } from './fit-rows.ts';
import { pieceFindings } from './piece-facts.ts';
import type { PlanNames } from './plan-names.ts';

/** One way up: posed point = rotation · mesh point + offsetMm. */
export type PoseView = Readonly<{ says: string; rotation: readonly number[]; offsetMm: Vec3; sizeMm: Vec3 }>;

/** What the page's script needs of a piece beside the words that stand in the page. */
export type PieceView = Readonly<{
  id: string;
  name: string;
  /** the chosen pose first, then the part's other ones */
  poses: readonly PoseView[];
  overhangFromVerticalDeg: number;
  bed?: Readonly<{ name: string; plate: Ring; usable: Ring }>;
  layers?: Readonly<{ firstMm: number; stepMm: number; s: readonly number[]; g: readonly number[]; leastS: number }>;
  /** places in the mesh's own coordinates, with what is there */
  marks: readonly Readonly<{ atMm: Vec3; says: string }>[];
}>;

export type ViewData = Readonly<{ pieces: readonly PieceView[] }>;

/** The chart has a few hundred pixels, and estimates no third digit. */
const DIGITS = 2;

export function viewData(plan: Plan, names: PlanNames): ViewData {
  return { pieces: plan.pieces.map((piece) => pieceView(plan, names, piece.id)) };
}

function pieceView(plan: Plan, names: PlanNames, pieceId: string): PieceView {
  const piece = names.piece(pieceId)!;
  const estimate = names.estimate(pieceId);
  const recipe = names.recipe(piece.recipeId);
  const printer = names.printer(estimate?.printerId ?? plan.printers[0]?.id ?? '');
  const others = piece.id === piece.partId ? (names.part(piece.partId)?.poses ?? []) : [];
  const poses = [piece.pose, ...others.filter((pose) => pose.id !== piece.pose.id)];
  return {
    id: piece.id,
    name: names.pieceName(piece.id),
    poses: poses.map((pose) => ({
      says: [lieText(pose), ...poseFacts(pose)].join(', '),
      rotation: pose.rotation.map((x) => Number(x.toFixed(6))),
      offsetMm: pose.offsetMm,
      sizeMm: pose.sizeMm,
    })),
    overhangFromVerticalDeg: recipe?.overhangFromVerticalDeg ?? 45,
    ...(printer === undefined
      ? {}
      : { bed: { name: names.printerName(printer.id), plate: printer.plate, usable: printer.usable } }),
    ...(estimate === undefined || recipe === undefined || estimate.layerS.length === 0
      ? {}
      : {
          layers: {
            firstMm: recipe.firstLayerMm,
            stepMm: recipe.layerMm,
            s: estimate.layerS.map(short),
            g: estimate.layerG.map(short),
            leastS: recipe.leastLayerS,
          },
        }),
    marks: [
      ...pieceFindings(plan, names, pieceId).flatMap((finding) =>
        finding.atMm === undefined ? [] : [{ atMm: finding.atMm, says: finding.says }],
      ),
      ...piece.joints
        .filter(isOf(piece.id))
        .map((joint) => ({ atMm: joint.atMm, says: `${joint.kind} joint ${joint.id}` })),
    ],
  };
}

/** A cut part's joints are listed with each of its pieces; a joint names pieces by id or by letter. */
function isOf(pieceId: string): (joint: Joint) => boolean {
  return ({ between }) => between.some((name) => name === pieceId || pieceId.endsWith(`/${name}`));
}

function short(value: number): number {
  return Number(value.toPrecision(DIGITS));
}

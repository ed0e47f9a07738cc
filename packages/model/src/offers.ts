import type { Figure } from './figures.ts';
import type { Amount } from './plan.ts';

/** One way to print a piece and what it comes to. */
export type WhatIfRow = Readonly<{
  layerMm: number;
  perimeters: number;
  infillShare: number;
  roofLayers: number;
  floorLayers: number;
  massG: Figure;
  durationS: Figure;
  /** grams that stay in the part */
  partG: number;
  byKind: readonly Amount[];
  /** what the first layer of the widest roof has to span, and how high above the plate */
  roofSpanMm: number;
  roofAtMm: number;
  /** can a bridge of the recipe's length span it? */
  roofsClose: boolean;
}>;

/** A piece as it is, or with a cavity, printed by the same recipe. */
export type HollowPrint = Readonly<{
  cavityMm3: number;
  massG: Figure;
  durationS: Figure;
  partG: number;
  byKind: readonly Amount[];
}>;

export type HollowOffer = Readonly<{
  wallMm: number;
  whole: HollowPrint;
  /** the plain inner offset; its ceilings may need support */
  offset: HollowPrint;
  /** as much of it as closes by itself, under a gable within the overhang limit */
  selfClosing: HollowPrint;
}>;

/** What a cavity saves; negative where the walls, floors and roofs around it weigh more than the infill they replace. */
export type HollowSaving = Readonly<{
  massG: number;
  durationS: number;
  /** support inside that nobody can take out: it stays and weighs, and is counted in massG */
  shutInG: number;
}>;

/** Copies printed together against one after the other, in seconds: aloneS − togetherS = warmUpS + layerChangesS + waitingS − travelS. */
export type PlateSaving = Readonly<{
  aloneS: number;
  togetherS: number;
  /** warm-up once instead of for each */
  warmUpS: number;
  /** one layer change for all copies */
  layerChangesS: number;
  /** a layer of several copies need not wait for the least seconds of one */
  waitingS: number;
  /** from copy to copy */
  travelS: number;
}>;

/** A piece of a plan by other recipes, on the first printer it fits. */
export type PieceRecipes = Readonly<{ pieceId: string; printerId: string; rows: readonly Omit<WhatIfRow, 'byKind'>[] }>;

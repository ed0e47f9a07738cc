export { codeVersion, programVersion } from './code-version.ts';
export {
  compareWorkspaces,
  type PartChange,
  type Revision,
  type WorkspaceComparison,
} from './compare-workspaces.ts';
export {
  answerJobs,
  type Engine,
  type EngineOptions,
  errorOfFault,
  type Job,
  type Outcome,
  openEngine,
  type Progress,
  resultOf,
  type Task,
  type TaskContext,
} from './engine.ts';
export { type EstimateFilesOptions, type EstimateRow, estimateFiles, type FileToEstimate } from './estimate-files.ts';
export type { SlicedPiece } from './estimate-pieces.ts';
export { type EstimateInput, type EstimateOutcome, estimateTask } from './estimate-task.ts';
export { type FitCheck, type FitChecks, fitChecks } from './fit-checks.ts';
export { type FitOutcome, type FitRowJson, fitParts, fitRow, readingsOfParts } from './fit-parts.ts';
export { type FolderOptions, folderWorkspace } from './folder-workspace.ts';
export { checkForecast, type Forecast } from './forecast.ts';
export { type HollowInput, type HollowOutcome, hollowTask } from './hollow-task.ts';
export { type Unpacked, unpackArchives } from './intake-archives.ts';
export type { PartList } from './intake-lists.ts';
export type { Learning } from './learn.ts';
export { learningFrom } from './learning-from.ts';
export { type Proposal, type ProposeOptions, proposeFor } from './lighten-workspace.ts';
export { type LoadedMesh, loadMesh } from './load-mesh.ts';
export { type MeasureOptions, measureFiles } from './measure-files.ts';
export { type MeasureInput, measureTask } from './measure-task.ts';
export { isMeshName, meshFilesOf } from './mesh-files.ts';
export { keyOfMesh, type MeshRef } from './mesh-ref.ts';
export { otherRecipes } from './other-recipes.ts';
export { allParts, copiesToPrint, type PartWork, partWorks, whyNotPrintable } from './part-work.ts';
export type { PartOutcome, PieceWork } from './pieces.ts';
export { type PlanOptions, type PlanResult, planWorkspace, summaryOfPart } from './plan-workspace.ts';
export { type PoseAndHull, type PoseInput, poseTask } from './pose-task.ts';
export { type PrintingLimit, printingLimits } from './printing-limits.ts';
export { reviewRecord } from './review-record.ts';
export { secondReading } from './second-reading.ts';
export { posedPieces, splitInputOf } from './split-parts.ts';
export { type SplitInput, type SplitOutcome, type SplitPiece, splitTask } from './split-task.ts';
export { type Suspicion, type SuspicionKind, type SuspicionOptions, suspicionsOf } from './suspicions.ts';
export { type Questions, suspicionsAbout, suspicionsIn } from './suspicions-in.ts';
export type { CompareReadings, Likeness } from './suspicions-shapes.ts';
export { ENGINE_TASKS } from './tasks.ts';
export { type TrialEstimate, trialEstimates } from './trial-estimates.ts';
export { type WeighResult, weighWorkspace } from './weigh-workspace.ts';

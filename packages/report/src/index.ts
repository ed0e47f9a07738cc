export { type AssemblyGlbInput, assemblyGlb } from './assembly-glb.ts';
export { type BalanceOptions, balanceSvg, type Shapes } from './balance-svg.ts';
export { type BeadLayer, type BeadLayersDrawing, type BeadStroke, beadLayersSvg } from './bead-layers-svg.ts';
export { renderCalendar } from './calendar.ts';
export { cautionsOf } from './cautions.ts';
export { CATEGORY_COLOURS, cividis, displayColour } from './colours.ts';
export { contactSheetSvg } from './contact-sheet.ts';
export { renderCsv } from './csv.ts';
export { escapeXml, plainLine } from './escape.ts';
export { exploded, type NamedBody } from './exploded.ts';
export { filamentSvg } from './filament-svg.ts';
export { type FitPage, type FitPagePart, renderFitPage } from './fit-page.ts';
export { type FitFacts, type FitRow, fitRows, overText, verdictText } from './fit-rows.ts';
export { type LayerChartDrawing, layerChartSvg } from './layer-chart-svg.ts';
export { type LayerDrawing, layerSvg } from './layer-svg.ts';
export { savingsSvg, tradeOffSvg } from './lighten-svg.ts';
export { markRgb } from './mark-kinds.ts';
export { renderMarkdown } from './markdown.ts';
export { type Mark, type MarkedPngOptions, markedPng } from './marked-png.ts';
export { massSvg } from './mass-svg.ts';
export { massTreeSvg } from './mass-tree-svg.ts';
export { type PageInput, renderPage } from './page.ts';
export type { PageView } from './page-look.ts';
export type { MarkedPicture, MarkedPictures } from './page-meshes.ts';
export type { Pictures } from './page-parts.ts';
export type { PieceView, PoseView, ViewData } from './page-view-data.ts';
export { meshesToLookAt } from './part-findings.ts';
export { type PartGlbOptions, partGlb } from './part-glb.ts';
export { piecesGlb } from './pieces-glb.ts';
export { layerCount, type PlanNames, planNames, recipeSentence } from './plan-names.ts';
export { type Plate3mfInput, plate3mf } from './plate-3mf.ts';
export { type PlatePngOptions, platePng } from './plate-png.ts';
export { PLATE_FRAME_MM, type PlateDrawing, plateSvg } from './plate-svg.ts';
export { type PosePngOptions, posePng } from './pose-png.ts';
export { prismsMesh, type Slab } from './prisms.ts';
export { savingSentence } from './saving-line.ts';
export { type Sentence, type Span, type Summary, sentenceText, sumFigure, summaryOf } from './summary.ts';
export { renderBuy } from './text-buy.ts';
export { type ChecksText, type FitLine, renderChecks } from './text-checks.ts';
export { renderComparison } from './text-comparison.ts';
export { renderFindings } from './text-findings.ts';
export { type FitText, renderFit } from './text-fit.ts';
export { type HollowedText, renderHollowed } from './text-hollow.ts';
export { renderHollow, renderWhatIf } from './text-offers.ts';
export { renderSummary } from './text-plan.ts';
export { renderForecast, renderReview, renderTrial, type TrialText } from './text-record.ts';
export { type RevisionRow, type RevisionText, renderRevision } from './text-revision.ts';
export { renderEstimate, renderMeasure } from './text-shop.ts';
export { renderSplit, type SplitText } from './text-split.ts';
export { type TextColumn, type TextOptions, textTable, textWidth, wrapText } from './text-table.ts';
export { causeLines, renderWays, type WaysText } from './text-ways.ts';
export { type ProposalText, renderLimits, renderProposal, renderWeigh } from './text-weigh.ts';
export { type TimelineOptions, timelineSvg } from './timeline-svg.ts';
export { renderTravellers, type TravellerInput } from './traveller.ts';
export { renderWeighPage, type WeighPage } from './weigh-page.ts';
export {
  chanceWords,
  dayText,
  durationText,
  lengthText,
  listWords,
  massText,
  momentText,
  sizeText,
} from './words.ts';
export { type Item3mf, type Object3mf, type Options3mf, write3mf } from './write-3mf.ts';

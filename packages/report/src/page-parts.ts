import type { Finding, PartSummary, Plan } from '@stonehand/model';
import { cividis } from './colours.ts';
import { escapeXml } from './escape.ts';
import { lieText, poseFacts } from './fit-rows.ts';
import { fromHtml, tableHtml } from './html.ts';
import { layerSvg } from './layer-svg.ts';
import { readingOfPart, shownFindings } from './part-findings.ts';
import { type PlanNames, pieceOfCopy } from './plan-names.ts';
import { swatch } from './plate-svg.ts';
import { copiesInRuns } from './progress.ts';
import { num, svgDocument, svgRect } from './svg.ts';
import { countOf, durationText, massText, sizeText } from './words.ts';

export type Pictures = Readonly<Record<string, Uint8Array>>;

type PartLine = Readonly<{ part: PartSummary; pieceId: string | undefined; findings: readonly Finding[] }>;

/** A row for each piece: how it lies, what it is made of, grams and hours with what they came from, and what is doubtful. looks: names lead to the panel of the piece. */
export function partsSection(plan: Plan, names: PlanNames, pictures: Pictures, looks: boolean): string {
  const withPictures = plan.pieces.some((piece) => pictures[piece.id] !== undefined);
  const lines: PartLine[] = plan.parts.flatMap((part) => {
    const findings = shownFindings(readingOfPart(plan.readings, part));
    const pieceIds = part.pieceIds.length > 0 ? part.pieceIds : [undefined];
    return pieceIds.map((pieceId, i) => ({ part, pieceId, findings: i === 0 ? findings : [] }));
  });
  const columns = [
    { title: 'part' },
    ...(withPictures ? [{ title: 'as it lies, and from below', class: 'pictures' }] : []),
    { title: plan.unitsShown === 'US' ? 'size' : 'size, mm', class: 'one' },
    { title: 'copies', class: 'of' },
    { title: 'each', right: true },
    { title: 'printing', right: true },
    { title: 'which way up', class: 'pose' },
  ];
  const data = partData(plan, names, lines);
  const table = tableHtml(
    columns,
    lines.map((line) => partRow(plan, names, line, { withPictures, pictures, looks })),
    {
      id: 'part-table',
      none: 'No part is in the plan.',
      data,
      sortBy: lines.map((line, i) => sortKeys(names, line, withPictures, data[i]!)),
    },
  );
  return `${withPictures ? rampHtml() : ''}${filterHtml(data)}${table}`;
}

/** What rows are chosen by. Lists within a value are parted by a line break, which no name holds. */
function partData(plan: Plan, names: PlanNames, lines: readonly PartLine[]): Record<string, string>[] {
  const planned = copiesInRuns(plan);
  const waiting = new Set(plan.waiting.map(({ copyId }) => pieceOfCopy(copyId)));
  const plannedPieces = new Set([...planned].map(pieceOfCopy));
  const printersOf = new Map<string, Set<string>>();
  for (const { printerId, placed } of plan.plates)
    for (const { copyId } of placed)
      printersOf.set(pieceOfCopy(copyId), (printersOf.get(pieceOfCopy(copyId)) ?? new Set()).add(printerId));
  return lines.map(({ part, pieceId }) => {
    const id = pieceId ?? part.id;
    const states = [
      ...(plannedPieces.has(id) ? ['planned'] : []),
      ...(waiting.has(id) ? ['waiting'] : []),
      ...(part.status !== 'print' || (!plannedPieces.has(id) && !waiting.has(id)) ? ['there'] : []),
    ];
    return {
      piece: id,
      assembly: part.assemblyId,
      printer: [...(printersOf.get(id) ?? [])].map(names.printerName).join('\n'),
      material: names.materialName(part.materialId),
      state: states.join('\n'),
    };
  });
}

function sortKeys(
  names: PlanNames,
  { part, pieceId }: PartLine,
  withPictures: boolean,
  { piece }: Readonly<Record<string, string>>,
): (string | number | undefined)[] {
  const estimate = pieceId === undefined ? undefined : names.estimate(pieceId);
  const size = pieceId === undefined ? undefined : names.piece(pieceId)?.pose.sizeMm;
  return [
    pieceId === undefined ? part.name : names.pieceName(pieceId),
    ...(withPictures ? [undefined] : []),
    size === undefined ? 0 : Math.max(...size),
    pieceId === undefined ? part.quantity : (names.piece(piece!)?.quantity ?? part.quantity),
    estimate?.massG.value ?? 0,
    estimate?.durationS.value ?? 0,
    undefined,
  ];
}

const ANY: Readonly<Record<string, string>> = {
  assembly: 'any assembly',
  printer: 'any printer',
  material: 'any material',
  state: 'any state',
};

/** The choice of rows, read as a sentence. Hidden until the page's script runs it; without scripts every row is there. */
function filterHtml(data: readonly Readonly<Record<string, string>>[]): string {
  const select = (key: string): string => {
    const values = [...new Set(data.flatMap((row) => (row[key] ?? '').split('\n')))].filter((text) => text !== '');
    const options = values.sort().map((text) => `<option>${escapeXml(text)}</option>`);
    return `<select name="${key}" aria-label="${key}"><option value="">${ANY[key]}</option>${options.join('')}</select>`;
  };
  return `<p class="filter" data-for="part-table" hidden>Show parts of ${select('assembly')} on ${select('printer')} in ${select('material')}, ${select('state')}, <label>with <input type="search" placeholder="a word" autocomplete="off"></label> <output class="soft"></output></p>`;
}

const STATUS: Readonly<Record<PartSummary['status'], string>> = {
  print: '',
  have: 'already there',
  elsewhere: 'from elsewhere',
};

function partRow(
  plan: Plan,
  names: PlanNames,
  { part, pieceId, findings }: PartLine,
  { withPictures, pictures, looks }: Readonly<{ withPictures: boolean; pictures: Pictures; looks: boolean }>,
): string[] {
  const piece = pieceId === undefined ? undefined : names.piece(pieceId);
  const estimate = pieceId === undefined ? undefined : names.estimate(pieceId);
  const name = pieceId === undefined ? part.name : names.pieceName(pieceId);
  const reading = readingOfPart(plan.readings, part);
  const box = reading?.boxMm;
  const sizeMm =
    piece?.pose.sizeMm ??
    (box === undefined ? undefined : [box.max[0] - box.min[0], box.max[1] - box.min[1], box.max[2] - box.min[2]]);
  const said = saidHtml(findings);
  const status = STATUS[part.status] === '' ? '' : `<br><span class="small soft">${STATUS[part.status]}</span>`;
  const materialId = piece?.materialId ?? part.materialId;
  const recipeId = piece?.recipeId ?? part.recipeId;
  const source =
    estimate === undefined
      ? ''
      : `<br><span class="small soft">${escapeXml(`${estimate.recipeId} on ${names.printerName(estimate.printerId)}, ${estimate.mode}`)}</span>`;
  const pose = piece?.pose;
  const poseText =
    pose === undefined
      ? ''
      : `${escapeXml(lieText(pose))}<br><span class="small soft">${escapeXml([`${num(pose.heightMm)} mm high`, ...poseFacts(pose)].join(', '))}</span>`;
  return [
    `${pieceId === undefined || !looks ? escapeXml(name) : `<a class="look" href="#look=${encodeURIComponent(pieceId)}">${escapeXml(name)}</a>`}<br><span class="small soft">${escapeXml(part.assemblyId)}<br>${escapeXml(part.meshFile)}</span>${status}${said}`,
    ...(withPictures ? [pictureHtml(pieceId === undefined ? undefined : pictures[pieceId], name)] : []),
    sizeMm === undefined ? '' : escapeXml(sizeText(sizeMm, plan.unitsShown)),
    `${piece?.quantity ?? part.quantity} × ${swatch(names.materialIndex(materialId))}${escapeXml(names.materialName(materialId))}${estimate === undefined ? `<br><span class="small soft">${escapeXml(recipeId)}</span>` : ''}`,
    estimate === undefined ? '' : fromTitle(massText(estimate.massG, plan.unitsShown), estimate.massG.from) + source,
    estimate === undefined
      ? ''
      : fromTitle(durationText(estimate.durationS), estimate.durationS.from) +
        layerSvg({ estimate, recipe: names.recipe(estimate.recipeId), widthPx: 120 }),
    poseText,
  ];
}

/** Doubts stand with their pictures in a section of their own; what was done on purpose stands here. */
function saidHtml(findings: readonly Finding[]): string {
  const notes = findings.filter(({ severity }) => severity === 'note');
  const doubts = findings.length - notes.length;
  const link =
    doubts === 0 ? '' : `<br><a class="bad small" href="#meshes">look at its mesh: ${countOf(doubts, 'finding')}</a>`;
  return link + notes.map(({ says }) => `<br><span class="small soft">${escapeXml(says)}</span>`).join('');
}

/**
 * The interval below its figure, so that the column stays narrow. In a long table the source stands below as well; a stop of the
 * Tab key at each of 400 figures would be no help.
 */
function fromTitle(text: string, from: string): string {
  const [value = '', range] = text.split(' (');
  const below = range === undefined ? '' : `<br><span class="small one">(${escapeXml(range)}</span>`;
  return fromHtml(value, from).replace(' tabindex="0"', '') + below;
}

function pictureHtml(png: Uint8Array | undefined, name: string): string {
  if (png === undefined) return '';
  const data = Buffer.from(png.buffer, png.byteOffset, png.byteLength).toString('base64');
  return `<img class="pic" width="440" height="220" loading="lazy" src="data:image/png;base64,${data}" alt="${escapeXml(`${name} as it lies on the plate, and from below`)}">`;
}

/** The scale of the pictures' colours, drawn once at a readable size; how many copies beyond belongs to the recipe. */
function rampHtml(): string {
  const steps = 38;
  const bars = Array.from({ length: steps }, (_, i) => {
    const [r, g, b] = cividis(i / (steps - 1));
    return svgRect(5 * i, 0, 5.3, 12, `rgb(${r},${g},${b})`);
  });
  const svg = svgDocument([0, 0, 5 * steps, 12], 'ramp of overhang angles', bars.join(''));
  return `<div class="ramp"><span>colour: faces that need support, by their angle from vertical; at the limit</span>${svg}<span>90° (level)</span></div>`;
}

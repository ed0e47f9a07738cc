import type { Figure, Plan } from '@stonehand/model';
import { stringify } from 'csv-stringify/sync';
import { flatten } from './limit-lines.ts';
import { readingOfPart } from './part-findings.ts';
import { layerCount, planNames } from './plan-names.ts';

type Cell = string | number | undefined;
type Table = Readonly<{ columns: readonly string[]; rows: readonly (readonly Cell[])[] }>;

/**
 * The plan as tables for a spreadsheet (RFC 4180, a header line, CRLF), by file name. Figures keep their value, low and high as
 * columns of numbers in g, mm and s; times are RFC 3339. A text that a spreadsheet would run as a formula gets an apostrophe.
 */
export function renderCsv(plan: Plan): Record<string, string> {
  const tables: Record<string, Table> = {
    'parts.csv': partsTable(plan),
    'plates.csv': platesTable(plan),
    'placed.csv': placedTable(plan),
    'runs.csv': runsTable(plan),
    'todo.csv': todoTable(plan),
    'fits.csv': fitsTable(plan),
    'filament.csv': filamentTable(plan),
    'hardware.csv': hardwareTable(plan),
    'mass.csv': massTable(plan),
    'waiting.csv': { columns: ['copy', 'reason'], rows: plan.waiting.map((w) => [w.copyId, w.reason]) },
  };
  return Object.fromEntries(Object.entries(tables).map(([file, table]) => [file, csvText(table)]));
}

function csvText({ columns, rows }: Table): string {
  return stringify([[...columns], ...rows.map((row) => row.map(safeCell))], { record_delimiter: '\r\n' });
}

function safeCell(cell: Cell): string {
  if (cell === undefined) return '';
  if (typeof cell === 'number') return Number.isFinite(cell) ? String(Number(cell.toPrecision(12))) : '';
  return /^[=+\-@\t\r]/.test(cell) ? `'${cell}` : cell;
}

function figure(f: Figure | undefined): Cell[] {
  return [f?.value, f?.low, f?.high];
}

function partsTable(plan: Plan): Table {
  const names = planNames(plan);
  return {
    columns: [
      'part',
      'name',
      'assembly',
      'file',
      'status',
      'quantity',
      'piece',
      'piece_quantity',
      'material',
      'recipe',
      'size_x_mm',
      'size_y_mm',
      'size_z_mm',
      'volume_mm3',
      'grade',
      'piece_mass_g',
      'piece_mass_low_g',
      'piece_mass_high_g',
      'piece_time_s',
      'piece_time_low_s',
      'piece_time_high_s',
      'filament_mm',
      'estimated_on',
    ],
    rows: plan.parts.flatMap((part) => {
      const reading = readingOfPart(plan.readings, part);
      const box = reading?.boxMm;
      const size = [0, 1, 2].map((i) => (box === undefined ? undefined : box.max[i]! - box.min[i]!));
      const pieceIds = part.pieceIds.length > 0 ? part.pieceIds : [undefined];
      return pieceIds.map((pieceId): Cell[] => {
        const piece = pieceId === undefined ? undefined : names.piece(pieceId);
        const estimate = pieceId === undefined ? undefined : names.estimate(pieceId);
        return [
          part.id,
          part.name,
          part.assemblyId,
          part.meshFile,
          part.status,
          part.quantity,
          pieceId,
          piece?.quantity,
          piece?.materialId ?? part.materialId,
          piece?.recipeId ?? part.recipeId,
          ...size,
          reading?.volumeMm3,
          reading?.grade,
          ...figure(estimate?.massG),
          ...figure(estimate?.durationS),
          estimate?.filamentMm,
          estimate?.printerId,
        ];
      });
    }),
  };
}

function platesTable(plan: Plan): Table {
  const names = planNames(plan);
  return {
    columns: [
      'plate',
      'name',
      'printer',
      'materials',
      'recipe',
      'copies',
      'height_mm',
      'layers',
      'used_share',
      'mass_g',
      'mass_low_g',
      'mass_high_g',
      'time_s',
      'time_low_s',
      'time_high_s',
    ],
    rows: plan.plates.map((plate) => {
      const recipe = names.recipe(plate.recipeId);
      return [
        plate.id,
        plate.name,
        plate.printerId,
        plate.materialIds.join(' '),
        plate.recipeId,
        plate.placed.length,
        plate.heightMm,
        recipe === undefined ? undefined : layerCount(plate.heightMm, recipe),
        plate.usedShare,
        ...figure(plate.massG),
        ...figure(plate.durationS),
      ];
    }),
  };
}

function placedTable(plan: Plan): Table {
  return {
    columns: ['plate', 'copy', 'x_mm', 'y_mm', 'turn_deg'],
    rows: plan.plates.flatMap((plate) =>
      plate.placed.map((p): Cell[] => [plate.id, p.copyId, p.xMm, p.yMm, p.turnDeg]),
    ),
  };
}

function runsTable(plan: Plan): Table {
  return {
    columns: [
      'run',
      'plate',
      'printer',
      'state',
      'attend_from',
      'start',
      'watched_until',
      'end',
      'unload_from',
      'unload_end',
      'unattended',
      'spools',
    ],
    rows: plan.runs.map((r) => [
      r.id,
      r.plateId,
      r.printerId,
      r.state,
      r.attendFrom,
      r.start,
      r.watchedUntil,
      r.end,
      r.unloadFrom,
      r.unloadEnd,
      r.unattended ? 'yes' : 'no',
      r.spools.map((s) => `${s.spoolId} ${Math.round(s.massG)} g`).join('; '),
    ]),
  };
}

function todoTable(plan: Plan): Table {
  return {
    columns: ['from', 'to', 'latest_start', 'what', 'printer', 'run', 'plate', 'says'],
    rows: plan.todo.map((t) => [t.from, t.to, t.latestStart, t.what, t.printerId, t.runId, t.plateId, t.says]),
  };
}

function fitsTable(plan: Plan): Table {
  return {
    columns: [
      'part',
      'printer',
      'verdict',
      'turn_deg',
      'pieces',
      'over_x_mm',
      'over_y_mm',
      'over_z_mm',
      'scale_that_fits',
      'why',
    ],
    rows: plan.fits.map((f) => [
      f.partId,
      f.printerId,
      f.verdict,
      f.turnDeg,
      f.pieces,
      f.overMm?.[0],
      f.overMm?.[1],
      f.overMm?.[2],
      f.scaleThatFits,
      f.why,
    ]),
  };
}

function filamentTable(plan: Plan): Table {
  const rows = (span: string, buy: Plan['buy']): Cell[][] =>
    buy.map((b) => [span, b.materialId, ...figure(b.needG), b.shelfG, b.spools, b.price, b.neededAt, b.orderBy]);
  return {
    columns: [
      'span',
      'material',
      'need_g',
      'need_low_g',
      'need_high_g',
      'shelf_g',
      'spools_to_buy',
      'price',
      'needed_at',
      'order_by',
    ],
    rows: [...rows('window', plan.buy), ...rows('remaining', plan.buyAll)],
  };
}

function hardwareTable(plan: Plan): Table {
  return {
    columns: ['item', 'name', 'quantity', 'mass_each_g', 'mass_from', 'magnetic', 'price_each', 'lead_days', 'note'],
    rows: plan.hardware.map(({ item, quantity }) => [
      item.id,
      item.name,
      quantity,
      item.massG,
      item.massFrom,
      item.magnetic ? 'yes' : 'no',
      item.price,
      item.leadDays,
      item.note,
    ]),
  };
}

function massTable(plan: Plan): Table {
  return {
    columns: [
      'assembly',
      'name',
      'mass_g',
      'mass_low_g',
      'mass_high_g',
      'printed_g',
      'bought_g',
      'centre_x_mm',
      'centre_y_mm',
      'centre_z_mm',
      'limit',
      'limit_unit',
      'allowed',
      'margin',
      'chance',
      'missing',
      'more_g',
      'weighed_g',
    ],
    rows: flatten(plan.mass).flatMap((m) => {
      const base: Cell[] = [m.assemblyId, m.name, ...figure(m.massG), m.printedG, m.boughtG, ...m.centreMm];
      const end: Cell[] = [m.missing.join('; '), m.extraG, m.weighedG];
      if (m.limits.length === 0) return [[...base, undefined, undefined, undefined, undefined, undefined, ...end]];
      return m.limits.map((l): Cell[] => [...base, l.limit, l.unit, l.allowed, l.margin, l.chance, ...end]);
    }),
  };
}

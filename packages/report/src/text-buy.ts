import type { Buy, Consumable, Plan } from '@stonehand/model';
import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import { bold, type TextOptions, textTable, wrapText } from './text-table.ts';
import { countOf, listWords, massText, momentText } from './words.ts';

type BuyPlan = Pick<Plan, 'buy' | 'buyAll' | 'materials' | 'hardware' | 'unitsShown'> & Partial<Plan>;

/**
 * What to buy: what can be printed now without buying, filament for this window and for all that remains side by side, then the
 * bought items and what is used up.
 */
export function renderBuy(plan: BuyPlan, { width = 80, colour = false }: TextOptions = {}): string {
  const strong = (text: string): string => (colour ? bold(text) : text);
  const out = [...leadLines(plan).flatMap((line) => wrapText(plainLine(line), width)), ''];
  const rows = filamentRows(plan);
  if (rows.length > 0) {
    const columns = [
      { title: 'filament' },
      { title: 'this window', right: true, wraps: true },
      { title: 'all that remains', right: true, wraps: true },
    ];
    out.push(textTable(columns, rows, { width, colour }));
  }
  if (plan.hardware.length > 0) out.push(strong('Bought items'), boughtText(plan, width, colour));
  const { consumables = [] } = plan;
  if (consumables.length > 0) {
    out.push(strong('Used up'));
    for (const one of consumables) out.push(...hanging('  ', consumableText(one, plan), width));
  }
  return `${out.join('\n').trimEnd()}\n`;
}

function leadLines(plan: BuyPlan): string[] {
  const lines: string[] = [];
  const { runs, plates, waiting } = plan;
  if (runs !== undefined && plates !== undefined && waiting !== undefined) {
    const planned = runs.filter(({ state }) => state === 'planned');
    const names = planned.map(({ plateId }) => plates.find(({ id }) => id === plateId)?.name ?? plateId);
    if (names.length > 0) {
      const all = countOf(plates.length, 'plate');
      lines.push(`Can be printed now without buying: ${names.length} of ${all} (${listWords(names, 6)}).`);
    } else lines.push('Nothing can be printed now without buying.');
  }
  const now = plan.buy.filter((row) => row.spools > 0);
  if (now.length === 0) lines.push('This window can be printed without buying filament.');
  for (const row of now) {
    const late = row.late === true ? ': too late to come in time' : '';
    const by = row.orderBy === undefined ? '' : `, order by ${dateText(row.orderBy)}${late}`;
    const when = row.neededAt === undefined ? '' : `, needed ${atText(row.neededAt, plan)}`;
    lines.push(
      `To print all that fits this window, buy ${countOf(row.spools, 'spool')} of ${nameOf(plan, row.materialId)}${row.price === undefined ? '' : ` (${moneyText(row.price, plan)})`}${when}${by}.`,
    );
  }
  return lines;
}

/** A block of rows for each material. */
function filamentRows(plan: BuyPlan): string[][] {
  const ids = [...new Set([...plan.buy, ...plan.buyAll].map((row) => row.materialId))];
  return ids.flatMap((id): string[][] => {
    const now = plan.buy.find(({ materialId }) => materialId === id);
    const all = plan.buyAll.find(({ materialId }) => materialId === id);
    const g = (value: number | undefined): string =>
      value === undefined ? '' : massText({ value, from: '' }, plan.unitsShown);
    const both = (title: string, of: (row: Buy) => string): string[] => [
      `· ${title}`,
      now === undefined ? '' : of(now),
      all === undefined ? '' : of(all),
    ];
    const part = (title: string, key: 'netG' | 'supportG' | 'purgeG' | 'failuresG' | 'strandedG'): string[][] =>
      Math.max(now?.[key] ?? 0, all?.[key] ?? 0) < 0.5 ? [] : [both(title, (row) => g(row[key]))];
    return [
      [nameOf(plan, id), now === undefined ? 'none' : '', all === undefined ? 'none' : ''],
      ...part('parts', 'netG'),
      ...part('support and brim', 'supportG'),
      ...part('purge and prime', 'purgeG'),
      ...part('expected failures', 'failuresG'),
      both('middle', (row) => g(row.needG.value)),
      both('enough in 9 of 10 cases', (row) => g(row.needG.high ?? row.needG.value)),
      both('usable on the shelf', (row) => g(row.shelfG)),
      ...part('left in ends', 'strandedG'),
      both('to buy', (row) => (row.spools === 0 ? 'nothing' : spoolsText(row, plan))),
      ...(now?.orderBy === undefined && all?.orderBy === undefined
        ? []
        : [
            both('order by', (row) =>
              row.orderBy === undefined ? '' : `${dateText(row.orderBy)}${row.late === true ? ' (over)' : ''}`,
            ),
          ]),
    ];
  });
}

function boughtText(plan: BuyPlan, width: number, colour: boolean): string {
  const ordered = plan.hardware.some(({ orderBy }) => orderBy !== undefined);
  const columns = [
    { title: 'item', wraps: true },
    { title: 'number', right: true },
    { title: 'mass', right: true },
    { title: 'price', right: true },
    { title: 'delivery', right: true },
    ...(ordered ? [{ title: 'order by', right: true }] : []),
    { title: 'note', wraps: true },
  ];
  return textTable(
    columns,
    plan.hardware.map(({ item, quantity, orderBy, late }) => [
      item.name,
      String(quantity),
      massText({ value: item.massG * quantity, from: '' }, plan.unitsShown),
      item.price === undefined ? '' : moneyText(item.price * quantity, plan),
      item.leadDays === undefined ? '' : countOf(item.leadDays, 'day'),
      ...(ordered ? [orderBy === undefined ? '' : `${dateText(orderBy)}${late === true ? ' (over)' : ''}`] : []),
      [item.magnetic ? 'magnetic' : '', item.note ?? ''].filter((t) => t !== '').join('; '),
    ]),
    { width, colour },
  );
}

function spoolsText({ spools, price }: Buy, plan: BuyPlan): string {
  return `${countOf(spools, 'spool')}${price === undefined ? '' : `, ${moneyText(price, plan)}`}`;
}

/** A price as the workspace writes it; without a stated currency the bare figure. */
export function moneyText(price: number, { currency }: Pick<Plan, 'currency'>): string {
  return `${price.toFixed(2)}${currency === undefined ? '' : ` ${currency}`}`;
}

function nameOf({ materials }: BuyPlan, id: string): string {
  const material = materials.find((one) => one.id === id);
  return material === undefined ? id : (material.name ?? `${material.kind} ${material.colour}`);
}

function atText(instant: string, { planFrom, timeZone }: BuyPlan): string {
  return planFrom === undefined || timeZone === undefined ? instant : momentText(instant, { planFrom, timeZone });
}

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** `2026-06-10` → `10 Jun`. */
export function dateText(date: string): string {
  return `${Number(date.slice(8, 10))} ${MONTHS[Number(date.slice(5, 7)) - 1] ?? date.slice(5, 7)}`;
}

/** `glue: beak-in-skull`, `to prime and paint: skull shell, 0.12 m² of surface in all`. */
export function consumableText({ what, uses, areaMm2 = 0, note }: Consumable, plan: Pick<Plan, 'unitsShown'>): string {
  const area = areaMm2 === 0 ? '' : `, ${areaText(areaMm2, plan)} of surface in all`;
  return `${what}: ${listWords(uses)}${area}${note === undefined ? '' : ` (${note})`}`;
}

function areaText(areaMm2: number, { unitsShown }: Pick<Plan, 'unitsShown'>): string {
  return unitsShown === 'US' ? `${(areaMm2 / 92_903.04).toFixed(1)} sq ft` : `${(areaMm2 / 1e6).toFixed(2)} m²`;
}

import type { MassReport, UnitsShown } from '@stonehand/model';
import { categoryColour } from './colours.ts';
import { escapeXml } from './escape.ts';
import { fitText, num, svgDocument, svgText } from './svg.ts';
import { massText } from './words.ts';

/** A node as heavy as all below it. */
type Node = Readonly<{ name: string; massG: number; kind: number; children: readonly Node[] }>;

const ROW_PX = 17;
const LEAST_PX = 3;
// Places in the palette: assemblies plain, printed blue, bought amber, the rest pink. A word stands in each.
const [ASSEMBLY, PRINTED, BOUGHT, MORE] = [-1, 4, 1, 3];

/** Mass as a tree: assemblies from left to right, at the end their parts, bought items and what else weighs, as high as they are heavy. */
export function massTreeSvg(
  report: MassReport,
  {
    units = 'metric',
    widthPx = 1040,
    name = lastName,
  }: Readonly<{ units?: UnitsShown; widthPx?: number; name?: (partId: string) => string }> = {},
): string {
  const root = nodeOf(report, name);
  const depth = depthOf(root);
  const leaves = leavesOf(root).filter((leaf) => leaf.massG > 0).length;
  const height = Math.max(160, Math.min(900, leaves * ROW_PX * 1.15));
  const columnPx = widthPx / depth;
  const body: string[] = [];
  draw(root, 0, 0, height, depth, columnPx, units, body);
  return svgDocument([0, 0, widthPx, height], `${report.name}: mass by assembly and part as a tree`, body.join(''));
}

const lastName = (id: string): string => id.slice(id.lastIndexOf('/') + 1).replaceAll('-', ' ');

function nodeOf(report: MassReport, name: (partId: string) => string): Node {
  const own = { ...report.byPartG };
  let boughtG = report.boughtG;
  const extras = { ...(report.byExtraG ?? {}) };
  for (const child of report.children) {
    for (const [id, g] of Object.entries(child.byPartG)) own[id] = (own[id] ?? 0) - g;
    for (const [kind, g] of Object.entries(child.byExtraG ?? {})) extras[kind] = (extras[kind] ?? 0) - g;
    boughtG -= child.boughtG;
  }
  const leaf =
    (kind: number) =>
    ([text, massG]: readonly [string, number]): Node => ({ name: text, massG, kind, children: [] });
  const parts = Object.entries(own)
    .filter(([, g]) => g > ROUNDING_G)
    .map(([id, g]) => leaf(PRINTED)([name(id), g]));
  const bought = boughtG > ROUNDING_G ? [leaf(BOUGHT)(['bought items', boughtG])] : [];
  const more = Object.entries(extras)
    .filter(([, g]) => g > ROUNDING_G)
    .map(leaf(MORE));
  const children = [...report.children.map((child) => nodeOf(child, name)), ...parts, ...bought, ...more];
  return {
    name: report.name,
    massG: report.massG.value,
    kind: ASSEMBLY,
    children: children.sort((a, b) => b.massG - a.massG || (a.name < b.name ? -1 : 1)),
  };
}

/** What is left when a child's sum is taken from its parent's. */
const ROUNDING_G = 1e-6;

function depthOf({ children }: Node): number {
  return 1 + Math.max(0, ...children.map(depthOf));
}

function leavesOf(node: Node): Node[] {
  return node.children.length === 0 ? [node] : node.children.flatMap(leavesOf);
}

/** A leaf reaches to the right edge, so that its name has room. */
function draw(
  node: Node,
  column: number,
  top: number,
  height: number,
  depth: number,
  columnPx: number,
  units: UnitsShown,
  body: string[],
): void {
  const x = column * columnPx;
  const width = node.children.length === 0 ? (depth - column) * columnPx : columnPx;
  const fill = node.kind === ASSEMBLY ? 'var(--band,#f6efda)' : categoryColour(node.kind);
  body.push(
    `<rect x="${num(x)}" y="${num(top, 2)}" width="${num(width - 1.5)}" height="${num(Math.max(0.5, height - 1), 2)}" fill="${fill}" fill-opacity="${node.kind === ASSEMBLY ? 1 : 0.4}"><title>${titleOf(node, units)}</title></rect>`,
  );
  if (height >= 14) {
    const mass = massText({ value: node.massG, from: '' }, units);
    const text =
      [`${node.name}, ${mass}`, node.name].find((one) => fitText(one, width - 14, 11) === one) ??
      fitText(node.name, width - 14, 11);
    body.push(svgText(x + 6, top + Math.min(height / 2 + 4, 22), text, { size: 11, strong: node.kind === ASSEMBLY }));
  }
  let at = top;
  for (const child of node.children) {
    const share = node.massG > 0 ? (child.massG / node.massG) * height : 0;
    if (share >= LEAST_PX / 4) draw(child, column + 1, at, share, depth, columnPx, units, body);
    at += share;
  }
}

function titleOf({ name, massG }: Node, units: UnitsShown): string {
  return `${escapeXml(name)}, ${escapeXml(massText({ value: massG, from: '' }, units))}`;
}

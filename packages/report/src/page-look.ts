import type { Plan } from '@stonehand/model';
import { cividis } from './colours.ts';
import { escapeXml } from './escape.ts';
import { viewData } from './page-view-data.ts';
import { pieceFactsHtml } from './piece-facts.ts';
import type { PlanNames } from './plan-names.ts';
import { svgDocument, svgRect } from './svg.ts';

/** The page's script, and by piece id what it draws: packed shapes and layers, in base64 (package view). */
export type PageView = Readonly<{
  script: string;
  shapes?: Readonly<Record<string, string>>;
  layers?: Readonly<Record<string, string>>;
}>;

/**
 * The panel in which one piece is looked at: 3D view, layers, figures. It is filled by the page's script from the templates and data that follow it.
 * Data stand in script elements of types that no browser runs.
 */
export function lookPanel(plan: Plan, names: PlanNames, { shapes = {}, layers = {} }: PageView): string {
  const about = plan.pieces.map(
    (piece) => `<template data-about="${escapeXml(piece.id)}">${pieceFactsHtml(plan, names, piece.id)}</template>`,
  );
  const packed = (kind: string, all: Readonly<Record<string, string>>): string[] =>
    Object.entries(all).map(
      ([id, base64]) =>
        `<script type="text/plain" data-${kind}="${escapeXml(id)}">${base64.replace(/[^A-Za-z0-9+/=]/g, '')}</script>`,
    );
  return [
    PANEL,
    ...about,
    ...packed('shape', shapes),
    ...packed('layers', layers),
    `<script type="application/json" id="view-data">${JSON.stringify(viewData(plan, names)).replace(/</g, '\\u003c')}</script>`,
  ].join('\n');
}

function ramp(label: string): string {
  const steps = 30;
  const bars = Array.from({ length: steps }, (_, i) => {
    const [r, g, b] = cividis(i / (steps - 1));
    return svgRect(4 * i, 0, 4.3, 9, `rgb(${r},${g},${b})`);
  });
  return svgDocument([0, 0, 4 * steps, 9], label, bars.join(''));
}

const PANEL: string = `<dialog id="look" aria-labelledby="look-title">
<header><h2 id="look-title"></h2><span class="steps"><button type="button" data-step="-1">Previous</button><button type="button" data-step="1">Next</button><button type="button" data-close>Close</button></span></header>
<div class="look">
<div class="stage"><canvas tabindex="0" role="img" aria-label="3D view"></canvas><p class="nothing" hidden></p>
<p class="small soft keys">drag or arrow keys turn, wheel or + and − come nearer, shift moves; grid 10 mm, front edge of the plate drawn strong</p>
<div class="ways"><span>Seen from</span><button type="button" data-from="corner">a corner</button><button type="button" data-from="front">the front</button><button type="button" data-from="side">the side</button><button type="button" data-from="above">above</button><button type="button" data-from="below">below</button></div>
<div class="ways"><label><input type="checkbox" name="overhang" checked> faces that need support, by their angle from vertical</label><span class="scale small"><output name="limit"></output> ${ramp('ramp of overhang angles')} 90°</span></div></div>
<div class="layers" hidden><h3>Layers</h3><div class="chart"></div><input type="range" name="layer" aria-label="layer" min="0" step="1"><output name="layer-says" class="small"></output>
<div class="ways bead" hidden><label>Bead paths coloured by <select name="quantity"><option value="speed">mean speed</option><option value="seconds">seconds a path takes</option></select></label><span class="scale small"><output name="least"></output> ${ramp('ramp of the quantity')} <output name="most"></output></span><label><input type="checkbox" name="travel"> travel too</label></div></div>
<div class="about"></div>
</div></dialog>`;

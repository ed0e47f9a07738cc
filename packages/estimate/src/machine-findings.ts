import type { BeadKind, Finding, Material, Need, Printer, Recipe } from '@stonehand/model';
import { beadAreaMm2 } from '@stonehand/slice';
import { flowSpeedMmS } from './estimate-paths.ts';

/** Layers between these shares of the nozzle press onto the layer below and still stick; some say up to 80 % (check values B4). */
const LEAST_LAYER_PER_NOZZLE = 0.25;
const USUAL_LAYER_PER_NOZZLE = 0.75;
const MOST_LAYER_PER_NOZZLE = 0.8;
/** Beads of 100 to 150 % of the nozzle (check values B4). */
const LEAST_BEAD_PER_NOZZLE = 1;
const MOST_BEAD_PER_NOZZLE = 1.5;
const ROUNDING = 1e-9;

const NEED_WORDS: Readonly<Record<Need, string>> = {
  enclosure: 'an enclosure',
  hardNozzle: 'a hardened nozzle',
  slowFeed: 'a feeder that can push flexible filament',
};

/**
 * What stands against printing this material by this recipe on this printer. `stop`: it cannot be printed; `doubt`: outside of what is usual;
 * `note`: it works, but not as stated. What the printer lacks comes first.
 */
export function machineFindings(printer: Printer, material: Material, recipe: Recipe): Finding[] {
  return [
    ...needFindings(printer, material),
    ...heatFindings(printer, material),
    ...layerFindings(printer, recipe),
    ...beadFindings(printer, recipe),
    ...flowFindings(printer, material, recipe),
  ];
}

function needFindings({ has }: Printer, { kind, needs }: Material): Finding[] {
  return needs
    .filter((need) => !has.includes(need))
    .map((need) => finding('NEED_LACKING', 'stop', `${kind} needs ${NEED_WORDS[need]}`));
}

function heatFindings({ nozzleMaxC, plateMaxC }: Printer, { kind, nozzleC, plateC }: Material): Finding[] {
  const cold = (what: string, needsC: number, reachesC: number): Finding[] =>
    needsC <= reachesC
      ? []
      : [finding('TOO_COLD', 'stop', `${kind} needs a ${what} at ${needsC} °C, it reaches ${reachesC} °C`)];
  return [...cold('nozzle', nozzleC, nozzleMaxC), ...cold('plate', plateC, plateMaxC)];
}

function layerFindings({ nozzleMm }: Printer, recipe: Recipe): Finding[] {
  const findings: Finding[] = [];
  for (const [what, mm] of [
    ['layers', recipe.layerMm],
    ['a first layer', recipe.firstLayerMm],
  ] as const) {
    const share = mm / nozzleMm;
    const says = (words: string): string => `${what} of ${mm} mm ${what === 'layers' ? 'are' : 'is'} ${words}`;
    if (share > MOST_LAYER_PER_NOZZLE + ROUNDING) {
      const severity = what === 'layers' ? 'stop' : 'doubt';
      findings.push(finding('LAYER_THICK', severity, says(`too thick for a nozzle of ${nozzleMm} mm`)));
    } else if (share > USUAL_LAYER_PER_NOZZLE + ROUNDING) {
      findings.push(finding('LAYER_THICK', 'doubt', says(`more than 75 % of the nozzle of ${nozzleMm} mm`)));
    } else if (share < LEAST_LAYER_PER_NOZZLE - ROUNDING) {
      findings.push(finding('LAYER_THIN', 'doubt', says(`less than 25 % of the nozzle of ${nozzleMm} mm`)));
    }
  }
  return findings;
}

function beadFindings({ nozzleMm }: Printer, { beadWidthMm, layerMm }: Recipe): Finding[] {
  if (beadWidthMm <= layerMm)
    return [
      finding(
        'BEAD_NARROW',
        'stop',
        `beads of ${beadWidthMm} mm are no broader than the layer of ${layerMm} mm is high`,
      ),
    ];
  const share = beadWidthMm / nozzleMm;
  if (share < LEAST_BEAD_PER_NOZZLE - ROUNDING)
    return [
      finding('BEAD_NARROW', 'doubt', `beads of ${beadWidthMm} mm are narrower than the nozzle of ${nozzleMm} mm`),
    ];
  if (share > MOST_BEAD_PER_NOZZLE + ROUNDING)
    return [
      finding(
        'BEAD_BROAD',
        'doubt',
        `beads of ${beadWidthMm} mm are more than one and a half of the nozzle of ${nozzleMm} mm`,
      ),
    ];
  return [];
}

const KIND_WORDS: readonly (readonly [BeadKind, string])[] = [
  ['outerPerimeter', 'outer perimeters'],
  ['innerPerimeter', 'inner perimeters'],
  ['solid', 'floors and roofs'],
  ['infill', 'infill'],
  ['support', 'support'],
];

/** Speeds that the flow does not allow are not driven; the estimate counts with the slower ones. */
function flowFindings({ speedMmS, flowMm3S }: Printer, material: Material, recipe: Recipe): Finding[] {
  const flow = Math.min(flowMm3S, material.flowMm3S);
  const mostMmS = flowSpeedMmS(flow, beadAreaMm2(recipe.beadWidthMm, recipe.layerMm));
  const held = KIND_WORDS.filter(([kind]) => speedMmS[kind] > mostMmS + ROUNDING).map(([, words]) => words);
  if (held.length === 0) return [];
  const whose = material.flowMm3S < flowMm3S ? material.kind : 'the hot end';
  return [
    finding(
      'FLOW_LIMITS',
      'note',
      `${whose} takes ${flow} mm³/s: ${held.join(', ')} run at ${Math.round(mostMmS)} mm/s at most, slower than the printer's own speed`,
      ['durationS'],
    ),
  ];
}

function finding(code: string, severity: Finding['severity'], says: string, spoils: readonly string[] = []): Finding {
  return { code, severity, count: 1, says, spoils };
}

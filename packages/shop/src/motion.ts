import type { ByKind } from '@stonehand/model';

export type MotionName = 'plain' | 'damped' | 'core frame';

/** What a printer does when its owner says only what kind of machine it is. mm/s, mm/s², mm³/s, s, °C. */
export type Motion = Readonly<{
  speedMmS: ByKind;
  accelMmS2: ByKind;
  firstLayerMmS: number;
  cornerSpeedMmS: number;
  flowMm3S: number;
  pullBackS: number;
  layerChangeS: number;
  warmUpS: number;
  nozzleMaxC: number;
  plateMaxC: number;
}>;

/**
 * Speeds and accelerations are taken from the ranges of published pages on motion of filament printers (wiki of a
 * filament maker on printing speeds; a comparison of frame kinds) and from common practice:
 *   plain       moving plate: 40–60 mm/s, travel 100–150, 500–1500 mm/s², 8–10 mm/s through a right angle
 *   damped      moving plate with vibration compensation: 100–250, travel 200–400, 3000–8000, 5–9
 *   core frame  fast stiff frame: 150–300, travel 300–500, 5000–20000, 5–12
 * first layer 15–50 mm/s and 500–1000 mm/s² on any. Slower bridges, pull-back, layer change and top temperatures:
 * common practice, no source; a hot end with a PTFE lining should stay at 240 °C (a table of filament compatibility).
 * Flow: 11 mm³/s for a standard hot end with a 0.4 mm nozzle, 15–30 for high flow (a tuning guide's measurements).
 * Warm-up: open plate 2–5 min to 60 °C, warm chamber 10–20 min (common practice).
 */
export const MOTIONS: Readonly<Record<MotionName, Motion>> = {
  plain: {
    speedMmS: speeds({ outer: 40, middle: 50, infill: 60, bridge: 30, first: 20, travel: 120 }),
    accelMmS2: accelerations({ outer: 1000, others: 1000, first: 500, travel: 1000 }),
    firstLayerMmS: 20,
    cornerSpeedMmS: 8,
    flowMm3S: 11,
    pullBackS: 0.25,
    layerChangeS: 0.3,
    warmUpS: 300,
    nozzleMaxC: 240,
    plateMaxC: 100,
  },
  damped: {
    speedMmS: speeds({ outer: 100, middle: 150, infill: 200, bridge: 50, first: 30, travel: 300 }),
    accelMmS2: accelerations({ outer: 3000, others: 5000, first: 1000, travel: 5000 }),
    firstLayerMmS: 30,
    cornerSpeedMmS: 7,
    flowMm3S: 15,
    pullBackS: 0.08,
    layerChangeS: 0.3,
    warmUpS: 300,
    nozzleMaxC: 260,
    plateMaxC: 100,
  },
  'core frame': {
    speedMmS: speeds({ outer: 150, middle: 225, infill: 300, bridge: 50, first: 50, travel: 400 }),
    accelMmS2: accelerations({ outer: 5000, others: 10_000, first: 1000, travel: 12_000 }),
    firstLayerMmS: 50,
    cornerSpeedMmS: 8,
    flowMm3S: 20,
    pullBackS: 0.08,
    layerChangeS: 0.3,
    warmUpS: 600,
    nozzleMaxC: 300,
    plateMaxC: 110,
  },
};

/** Nozzle diameter against the flow a 0.4 mm nozzle carries (from memory; a hot-end maker's tables look alike). */
const NOZZLE_FLOW: readonly (readonly [number, number])[] = [
  [0.25, 0.4],
  [0.4, 1],
  [0.6, 1.4],
  [0.8, 1.8],
];

/** How much more or less a nozzle carries than one of 0.4 mm; straight lines between the known sizes, flat outside. */
export function nozzleFlowFactor(nozzleMm: number): number {
  const above = NOZZLE_FLOW.findIndex(([size]) => size >= nozzleMm);
  if (above === 0) return NOZZLE_FLOW[0]![1];
  if (above < 0) return NOZZLE_FLOW.at(-1)![1];
  const [[s0, f0], [s1, f1]] = [NOZZLE_FLOW[above - 1]!, NOZZLE_FLOW[above]!];
  return f0 + ((f1 - f0) * (nozzleMm - s0)) / (s1 - s0);
}

function speeds(s: {
  outer: number;
  middle: number;
  infill: number;
  bridge: number;
  first: number;
  travel: number;
}): ByKind {
  return {
    outerPerimeter: s.outer,
    innerPerimeter: s.middle,
    solid: s.middle,
    bridge: s.bridge,
    infill: s.infill,
    support: s.middle,
    contact: s.outer,
    brim: s.first,
    purge: s.first,
    travel: s.travel,
  };
}

function accelerations(a: { outer: number; others: number; first: number; travel: number }): ByKind {
  return {
    outerPerimeter: a.outer,
    innerPerimeter: a.others,
    solid: a.others,
    bridge: a.outer,
    infill: a.others,
    support: a.others,
    contact: a.others,
    brim: a.first,
    purge: a.first,
    travel: a.travel,
  };
}

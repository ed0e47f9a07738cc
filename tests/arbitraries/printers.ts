import type { ByKind, Printer, Ring } from '@stonehand/model';

const EVERY_KIND = (value: number): ByKind => ({
  outerPerimeter: value,
  innerPerimeter: value,
  solid: value,
  bridge: value,
  infill: value,
  support: value,
  contact: value,
  brim: value,
  purge: value,
  travel: value,
});

/** A printer of which only the plate matters. */
export function printerWith(id: string, usable: Ring, rest: Partial<Printer> = {}): Printer {
  const xs = usable.map((p) => p[0]);
  const ys = usable.map((p) => p[1]);
  return {
    id,
    plate: usable,
    usable,
    keepOut: [],
    plateSizeMm: [Math.max(...xs), Math.max(...ys)],
    marginMm: 5,
    heightMm: 250,
    nozzleMm: 0.4,
    nozzleMaxC: 300,
    plateMaxC: 110,
    has: [],
    speedMmS: EVERY_KIND(60),
    accelMmS2: EVERY_KIND(1000),
    firstLayerMmS: 20,
    cornerSpeedMmS: 8,
    flowMm3S: 12,
    pullBackS: 0.1,
    layerChangeS: 1,
    warmUpS: 300,
    coolDownS: 600,
    changeS: 300,
    unattended: true,
    longestRunS: 20 * 3600,
    failPerStart: 0.03,
    failPerHour: 0.005,
    ...rest,
  };
}

export function rectangle(x0: number, y0: number, x1: number, y1: number): [number, number][] {
  return [
    [x0, y0],
    [x1, y0],
    [x1, y1],
    [x0, y1],
  ];
}

import type { ByKind, Material, Printer } from '@stonehand/model';
import { BEAD_KINDS } from '@stonehand/slice';

const same = (value: number): ByKind => Object.fromEntries(BEAD_KINDS.map((kind) => [kind, value])) as ByKind;

export function printerOf(changes: Partial<Printer> = {}): Printer {
  return {
    id: 'bench',
    plate: [],
    usable: [],
    keepOut: [],
    plateSizeMm: [220, 220],
    marginMm: 5,
    heightMm: 250,
    nozzleMm: 0.4,
    nozzleMaxC: 260,
    plateMaxC: 100,
    has: [],
    speedMmS: same(100),
    accelMmS2: same(1000),
    firstLayerMmS: 20,
    cornerSpeedMmS: 10,
    flowMm3S: 12,
    pullBackS: 0.5,
    layerChangeS: 1,
    warmUpS: 300,
    coolDownS: 600,
    changeS: 300,
    unattended: true,
    longestRunS: 72000,
    failPerStart: 0.03,
    failPerHour: 0.005,
    ...changes,
  };
}

export function materialOf(changes: Partial<Material> = {}): Material {
  return {
    id: 'pla',
    kind: 'PLA',
    colour: 'grey',
    densityGPerCm3: 1.24,
    diameterMm: 1.75,
    nozzleC: 210,
    plateC: 60,
    shrinkShare: 0.003,
    flowMm3S: 15,
    pricePerKg: 20,
    spoolG: 1000,
    dryS: 0,
    needs: [],
    joins: [],
    ...changes,
  };
}

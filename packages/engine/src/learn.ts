import {
  type Calibration,
  calibrate,
  type Factor,
  factorOf,
  type Learnt,
  MASS_PRIOR,
  type Observation,
  TIME_PRIOR,
} from '@stonehand/estimate';
import type { Estimate } from '@stonehand/model';
import type { RecordLine } from './record-lines.ts';

/** How far off another program's forecast may be, one standard deviation: it knows the machine's settings, not the machine (no source). */
const FORECAST_SPREAD = { mass: 0.04, time: 0.12 } as const;

/** What the ledger taught, ready to be asked. */
export interface Learning {
  readonly lines: readonly RecordLine[];
  of(estimate: Pick<Estimate, 'materialId' | 'printerId'>): Learnt;
}

/** The one place where figures of the ledger become factors: grams by material, seconds by printer. */
export function learningOf(lines: readonly RecordLine[]): Learning {
  const known = new Map<string, Calibration>();
  const learnt = (quantity: RecordLine['quantity'], of: string): Calibration => {
    const key = `${quantity} ${of}`;
    let calibration = known.get(key);
    if (calibration === undefined) {
      calibration = taught(
        lines.filter((line) => line.quantity === quantity && line.of === of),
        quantity,
      );
      known.set(key, calibration);
    }
    return calibration;
  };
  return {
    lines,
    of: ({ materialId, printerId }) => ({ mass: learnt('mass', materialId), time: learnt('time', printerId) }),
  };
}

/** A recorded figure beside what the rest of the record would have said of it. */
export type HeldOut = RecordLine & Readonly<{ said: number; low: number; high: number; others: number }>;

/** Each recorded figure predicted from all others of its material or printer. */
export function heldOut(lines: readonly RecordLine[]): HeldOut[] {
  return lines.map((line) => {
    const others = lines.filter((other) => other !== line && other.quantity === line.quantity && other.of === line.of);
    const { value, low, high } = predicted(others, line);
    const { modelled } = line;
    return { ...line, said: modelled * value, low: modelled * low, high: modelled * high, others: others.length };
  });
}

function predicted(others: readonly RecordLine[], { quantity, shares }: RecordLine): Factor {
  return factorOf(taught(others, quantity), shares);
}

function taught(lines: readonly RecordLine[], quantity: RecordLine['quantity']): Calibration {
  return calibrate(lines.map(observationOf), quantity === 'mass' ? MASS_PRIOR : TIME_PRIOR);
}

function observationOf({ real, modelled, shares, what, quantity }: RecordLine): Observation {
  return { ratio: real / modelled, shares, ...(what === 'forecast' ? { spread: FORECAST_SPREAD[quantity] } : {}) };
}

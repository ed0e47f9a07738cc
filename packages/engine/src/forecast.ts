import { calibrated } from '@stonehand/estimate';
import type { ForecastCheck, Workspace } from '@stonehand/model';
import type { Engine } from './engine.ts';
import { learningFrom, piecesOfCopies } from './learning-from.ts';
import { massOfCopies, timeOfCopies, togetherS } from './plate-figures.ts';

export type Forecast = Readonly<{
  copyIds: readonly string[];
  printerId?: string;
  massG?: number;
  durationS?: number;
}>;

/**
 * A forecast by another program beside the corrected estimate of the same copies printed together. Empty for what cannot be compared: copies that
 * do not go on that printer, minutes without a printer.
 */
export async function checkForecast(
  engine: Engine,
  workspace: Workspace,
  { copyIds, printerId, massG, durationS }: Forecast,
): Promise<ForecastCheck[]> {
  const learning = await learningFrom(engine, workspace);
  const pieces = await piecesOfCopies(engine, workspace, copyIds);
  const estimates = copyIds.flatMap((copyId) => {
    const id = copyId.slice(0, copyId.lastIndexOf('#'));
    const mine = pieces.filter(({ piece }) => piece.id === id || piece.partId === id);
    return mine.map(({ estimates: of }) => of.find((e) => printerId === undefined || e.printerId === printerId));
  });
  const known = estimates.filter((estimate) => estimate !== undefined);
  if (known.length === 0 || known.length < estimates.length) return [];
  const corrected = known.map((estimate) => calibrated(estimate, learning.of(estimate)));
  const checks: ForecastCheck[] = [];
  if (massG !== undefined) checks.push(checked('mass', massG, massOfCopies(corrected)));
  const seconds = printerId === undefined ? undefined : togetherS(known, printerId, workspace);
  if (durationS !== undefined && seconds !== undefined)
    checks.push(checked('time', durationS, timeOfCopies(seconds, corrected)));
  return checks;
}

function checked(
  quantity: ForecastCheck['quantity'],
  said: number,
  estimated: ForecastCheck['estimated'],
): ForecastCheck {
  const { value, low = value, high = value } = estimated;
  return { quantity, said, estimated, inside: said >= low && said <= high };
}

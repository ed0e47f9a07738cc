import type { Random } from '@stonehand/base';
import type { Observation, Shares } from '@stonehand/estimate';

/** Owners whose prints differ from the model in their own way: not the model that calibration assumes. */
export type OwnerSpec = Readonly<{
  /** median over owners of real over modelled */
  middle: number;
  /** spread between owners, and of walls, fill, support and the rest of one owner (log-normal) */
  common: number;
  group: number;
  support: number;
  /** spread of single prints */
  noise: number;
  /** share of prints that are something else: 1.5 to 2.5 times, or 0.4 to 0.7 */
  outliers: number;
  /** share that belongs to no kind of bead (travel, layer changes); time only */
  rest: number;
}>;

export type PrintSeen = Observation & Readonly<{ /** without noise */ truth: number }>;

/** What an endless row of prints of one owner gives: wall-heavy, infill-heavy and support-heavy ones by turns of chance. */
export function ownerOf(spec: OwnerSpec, random: Random): () => PrintSeen {
  const spread = (sd: number): number => Math.exp(sd * random.normal());
  const own = spec.middle * spread(spec.common);
  const factor = {
    walls: own * spread(spec.group),
    fill: own * spread(spec.group),
    support: own * spread(spec.support),
    rest: own * spread(spec.group),
  };
  return () => {
    const shares = sharesOfPrint(spec.rest, random);
    const { walls, fill, support } = shares;
    const truth = walls * factor.walls + fill * factor.fill + support * factor.support + spec.rest * factor.rest;
    const odd = random.next() < spec.outliers;
    const times = odd ? (random.next() < 0.5 ? 1.5 + random.next() : 0.4 + 0.3 * random.next()) : 1;
    return { ratio: truth * spread(spec.noise) * times, shares, truth };
  };
}

const KINDS = [
  [0.6, 0.25, 0.03],
  [0.25, 0.6, 0.03],
  [0.3, 0.25, 0.3],
];

function sharesOfPrint(rest: number, random: Random): Shares {
  const kind = KINDS[Math.floor(3 * random.next())];
  const [walls, fill, support] = kind.map((share) => share * Math.exp(0.25 * random.normal()));
  const scale = (1 - rest) / (walls + fill + support);
  return { walls: walls * scale, fill: fill * scale, support: support * scale };
}

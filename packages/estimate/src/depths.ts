/** `full` works out every layer, the others some of them. */
export type SampledDepth = 'quick' | 'rank';

/**
 * How far a depth may be from `full` on one piece, as shares of the value: held on the demo's pieces and on the sound reference meshes by tests, and
 * added to the intervals of PRIORS. DECISIONS has the table of what was seen.
 */
export const DEPTH_BOUNDS = {
  quick: { mass: 0.0005, wall: 0.0005, time: 0.05 },
  rank: { mass: 0.05, wall: 0.05, time: 0.1 },
} as const;

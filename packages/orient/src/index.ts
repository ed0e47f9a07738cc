export { type ConvexHull, convexHull } from './convex-hull.ts';
export { type FitOptions, fitHull, type HullFit } from './fit-hull.ts';
export { hull2 } from './hull2.ts';
export { overhangAreaMm2 } from './overhang-area.ts';
export { type SupportNeed, type SupportOptions, supportNeed } from './support-need.ts';

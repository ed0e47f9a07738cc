export type * from './assembly.ts';
export type * from './figures.ts';
export type * from './geometry.ts';
export type * from './plan.ts';
export type * from './reading.ts';
export type * from './shop.ts';
export type * from './workspace.ts';

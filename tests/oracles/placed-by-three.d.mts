import type { Vec3 } from '@stonehand/model';

export type NestedPlace = Readonly<{ turnRad: Vec3; atMm: Vec3; mirrored: boolean }>;
export function placedByThree(places: readonly NestedPlace[], points: readonly Vec3[]): Vec3[];
export function axisDistanceSq(point: Vec3, atMm: Vec3, axis: Vec3): number;

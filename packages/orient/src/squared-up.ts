import type { Recipe } from '@stonehand/model';
import { isAsModelled } from './pose-of.ts';
import { turnedAboutZ } from './rotation.ts';
import { squareUp, standingOf } from './standing.ts';
import type { Subject } from './subject.ts';

/** Turned about z where that makes the box smaller by more than 1 %, or its longer side lie along x. */
export function squaredUp(subject: Subject, rotation: number[], recipe: Recipe): number[] {
  if (isAsModelled(rotation)) return rotation;
  const { shadow, sizeMm } = standingOf(subject.points, subject.centre, rotation, recipe.firstLayerMm / 2);
  const best = squareUp(shadow);
  if (best.areaMm2 < 0.99 * sizeMm[0] * sizeMm[1]) return turnedAboutZ(rotation, best.turnRad);
  return sizeMm[1] > sizeMm[0] * (1 + 1e-9) ? turnedAboutZ(rotation, Math.PI / 2) : rotation;
}

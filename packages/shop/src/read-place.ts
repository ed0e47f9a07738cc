import { affineOf, IDENTITY_AFFINE, rotationOfTurns } from '@stonehand/base';
import type { Placement, Vec3 } from '@stonehand/model';
import { type Entry, numbersAt, pointAt, valueAt } from './fields.ts';
import type { Path } from './yaml-source.ts';

const AXES: Readonly<Record<string, Vec3>> = {
  x: [1, 0, 0],
  '-x': [-1, 0, 0],
  y: [0, 1, 0],
  '-y': [0, -1, 0],
  z: [0, 0, 1],
  '-z': [0, 0, -1],
};

/** The place at a path of an entry: `{ at, turn }` or a point alone; the parent's own origin when it is empty. */
export function readPlace(entry: Entry, tail: Path): Placement | undefined {
  const value = valueAt(entry, tail);
  if (value === undefined) return undefined;
  if (Array.isArray(value)) {
    const at = pointAt(entry, tail);
    return at === undefined ? undefined : affineOf([1, 0, 0, 0, 1, 0, 0, 0, 1], at);
  }
  const at = valueAt(entry, [...tail, 'at']) === undefined ? ORIGIN : pointAt(entry, [...tail, 'at']);
  const turn = valueAt(entry, [...tail, 'turn']) === undefined ? ORIGIN : numbersAt(entry, [...tail, 'turn'], 3);
  if (at === undefined || turn === undefined) return undefined;
  // + 0 makes −0 a plain 0: quarter turns should read as people write them.
  return affineOf(rotationOfTurns(turn as Vec3), at).map((n) => n + 0);
}

export const HERE: Placement = IDENTITY_AFFINE;
const ORIGIN: Vec3 = [0, 0, 0];
const UNIT_ROUNDING = 4 * Number.EPSILON;

/** A unit vector from an axis' name or three numbers; undefined for no direction at all. */
export function readDirection(entry: Entry, tail: Path): Vec3 | undefined {
  const value = valueAt(entry, tail);
  if (typeof value === 'string') return Object.hasOwn(AXES, value) ? AXES[value] : undefined;
  const numbers = numbersAt(entry, tail, 3);
  if (numbers === undefined) return undefined;
  const [x, y, z] = numbers as Vec3;
  const length = Math.hypot(x, y, z);
  // Of length 1 up to rounding it stays as it is: what was written must be read back to the bit.
  if (Math.abs(length - 1) <= UNIT_ROUNDING) return [x, y, z];
  return length > 0 ? [x / length, y / length, z / length] : undefined;
}

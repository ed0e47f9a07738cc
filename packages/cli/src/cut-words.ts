import { StonehandError } from '@stonehand/base';
import type { Box, Vec3 } from '@stonehand/model';
import type { Plane, Region } from '@stonehand/split';

const AXES: Readonly<Record<string, Vec3>> = { x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] };

/** `x=120`, or `0.8,0,0.6=35`: square to a direction, so far along it, in the part's millimetres. @throws StonehandError USAGE */
export function cutOf(text: string): Plane {
  const [left = '', right = ''] = text.split('=');
  const normal = AXES[left.trim()] ?? numbersOf(left, 3);
  const offsetMm = Number(right);
  if (normal === undefined || right.trim() === '' || !Number.isFinite(offsetMm) || normal.every((v) => v === 0)) {
    throw new StonehandError('USAGE', `--cut ${text}: no plane`, 'Write x=120, or a direction: 0.8,0,0.6=35.');
  }
  return { normal: normal as Vec3, offsetMm };
}

/** `0,0,0:50,20,20`: two corners of a box that no cut may go through. @throws StonehandError USAGE */
export function sparedOf(text: string): Region {
  const [from, to] = text.split(':').map((corner) => numbersOf(corner, 3));
  if (from === undefined || to === undefined) {
    throw new StonehandError('USAGE', `--spare ${text}: no box`, 'Write two corners: 0,0,0:50,20,20.');
  }
  const box: Box = {
    min: from.map((v, d) => Math.min(v, to[d]!)) as unknown as Vec3,
    max: from.map((v, d) => Math.max(v, to[d]!)) as unknown as Vec3,
  };
  return { box, never: true };
}

function numbersOf(text: string, count: number): readonly number[] | undefined {
  const numbers = text.split(',').map((word) => (word.trim() === '' ? Number.NaN : Number(word)));
  return numbers.length === count && numbers.every(Number.isFinite) ? numbers : undefined;
}

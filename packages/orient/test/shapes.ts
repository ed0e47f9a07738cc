import { mergeMeshes, weld } from '@stonehand/mesh';
import type { Mesh, Recipe } from '@stonehand/model';

type Point = readonly [number, number, number];

export const RECIPE: Recipe = {
  id: 'plain',
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 3,
  roofLayers: 5,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'grid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 10,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
};

export const UPRIGHT: readonly number[] = [1, 0, 0, 0, 1, 0, 0, 0, 1];

export function box(min: Point, max: Point): Mesh {
  const [a, b, c] = min;
  const [d, e, f] = max;
  return prism(
    [
      [a, b],
      [d, b],
      [d, e],
      [a, e],
    ],
    c,
    f,
  );
}

/** A convex outline, counter-clockwise, raised from z to top. */
export function prism(outline: readonly (readonly [number, number])[], z: number, top: number): Mesh {
  const soup: number[] = [];
  for (let i = 0; i < outline.length; i++) {
    const [ax, ay] = outline[i]!;
    const [bx, by] = outline[(i + 1) % outline.length]!;
    soup.push(ax, ay, z, bx, by, z, bx, by, top, ax, ay, z, bx, by, top, ax, ay, top);
    if (i === 0 || i + 1 === outline.length) continue;
    const [ox, oy] = outline[0]!;
    soup.push(ox, oy, top, ax, ay, top, bx, by, top, ox, oy, z, bx, by, z, ax, ay, z);
  }
  return weld(Float64Array.from(soup));
}

/** A profile of radius, height pairs from the axis to the axis, upwards on the outside, turned about z. */
export function lathe(profile: readonly (readonly [number, number])[], sides: number): Mesh {
  const soup: number[] = [];
  const at = (k: number, s: number): Point => {
    const [r, z] = profile[k]!;
    const rad = (2 * Math.PI * (s % sides)) / sides;
    return r === 0 ? [0, 0, z] : [r * Math.cos(rad), r * Math.sin(rad), z];
  };
  for (let k = 0; k + 1 < profile.length; k++) {
    for (let s = 0; s < sides; s++) {
      const [p, q, u, v] = [at(k, s), at(k, s + 1), at(k + 1, s + 1), at(k + 1, s)];
      if (profile[k]![0] !== 0) soup.push(...p, ...q, ...u);
      if (profile[k + 1]![0] !== 0) soup.push(...p, ...u, ...v);
    }
  }
  return weld(Float64Array.from(soup));
}

export function ball(radius: number, rings: number, sides: number): Mesh {
  const profile = Array.from({ length: rings + 1 }, (_, k) => {
    const rad = (Math.PI * k) / rings;
    return [k === 0 || k === rings ? 0 : radius * Math.sin(rad), -radius * Math.cos(rad)] as const;
  });
  return lathe(profile, sides);
}

/** Table of the check values: 40 × 40 × 5 on a 10 × 10 × 30 column. */
export function table(): Mesh {
  return mergeMeshes([box([15, 15, 0], [25, 25, 30]), box([0, 0, 30], [40, 40, 35])]);
}

/** Two walls `span` apart with a slab across, as one closed body. */
export function arch(span: number, deep = 30, high = 20): Mesh {
  const profile: (readonly [number, number])[] = [
    [0, 0],
    [5, 0],
    [5, high],
    [5 + span, high],
    [5 + span, 0],
    [10 + span, 0],
    [10 + span, high + 5],
    [0, high + 5],
  ];
  const faces = [
    [0, 1, 2],
    [0, 2, 7],
    [7, 2, 3],
    [7, 3, 6],
    [6, 3, 4],
    [6, 4, 5],
  ];
  const soup: number[] = [];
  const put = (k: number, y: number): void => {
    soup.push(profile[k]![0], y, profile[k]![1]);
  };
  for (const [a, b, c] of faces) {
    for (const k of [a!, b!, c!]) put(k, 0);
    for (const k of [a!, c!, b!]) put(k, deep);
  }
  for (let i = 0; i < profile.length; i++) {
    const j = (i + 1) % profile.length;
    put(i, 0);
    put(i, deep);
    put(j, deep);
    put(i, 0);
    put(j, deep);
    put(j, 0);
  }
  return weld(Float64Array.from(soup));
}

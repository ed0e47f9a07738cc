/** mm unless a name says otherwise. */
export type Vec2 = readonly [number, number];
export type Vec3 = readonly [number, number, number];
export type Box = Readonly<{ min: Vec3; max: Vec3 }>;
/** xx yy zz xy yz zx, with xy = −∫xy */
export type Tensor = readonly [number, number, number, number, number, number];
/** Counter-clockwise; holes clockwise; the last point is not repeated. */
export type Ring = readonly Vec2[];
/** Twelve numbers, row-major 3×4, column vectors (base's Affine functions work on it). */
export type Placement = readonly number[];

/**
 * Memory only. Welded, right-handed, z up. originMm is not 0 only for far-away files: true position = originMm + position.
 * positions holds 3·n numbers, triangles 3·m vertex indices, counter-clockwise seen from outside.
 */
export type Mesh = Readonly<{ positions: Float32Array | Float64Array; triangles: Uint32Array; originMm: Vec3 }>;

/**
 * Memory only. The closed loops of a stack of layers: layer i owns loops layerStart[i] … layerStart[i+1]−1, loop l owns points
 * loopStart[l] … loopStart[l+1]−1 of xyMm (x, y pairs). Material lies to the left of a loop. zMm[i] is the cutting
 * plane, topMm[i] the top of the layer; thickness is topMm[i] − topMm[i−1] (topMm[−1] = bottomMm).
 */
export type LayerLoops = Readonly<{
  bottomMm: number;
  zMm: Float64Array;
  topMm: Float64Array;
  layerStart: Uint32Array;
  loopStart: Uint32Array;
  xyMm: Float64Array;
  /** chains that could not be closed, by layer; empty for a closed mesh */
  openChains: number;
}>;

export type BeadKind =
  | 'outerPerimeter'
  | 'innerPerimeter'
  | 'solid'
  | 'bridge'
  | 'infill'
  | 'support'
  | 'contact'
  | 'brim'
  | 'purge'
  | 'travel';
export type ByKind = Readonly<Record<BeadKind, number>>;

/**
 * Memory only. Layer i owns paths layerStart[i] … layerStart[i+1]−1, path p owns points pathStart[p] … pathStart[p+1]−1.
 * kind holds an index into BEAD_KINDS of package slice; closed paths do not repeat their first point.
 */
export type LayerPaths = Readonly<{
  bottomMm: number;
  topMm: Float64Array;
  layerStart: Uint32Array;
  pathStart: Uint32Array;
  kind: Uint8Array;
  closed: Uint8Array;
  xyMm: Float32Array;
  widthMm: Float32Array;
}>;

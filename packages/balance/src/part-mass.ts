import type { Figure, Tensor, Vec3 } from '@stonehand/model';

/** A printed copy: its mass, and centre and tensor in the coordinates of the part's mesh. */
export type CopyMass = Readonly<{ massG: Figure; centreMm: Vec3; inertiaGMm2: Tensor }>;

/** A part: what one copy weighs by estimate, the copies that are known better, what paint and glue find on it. */
export type PartMass = CopyMass &
  Readonly<{
    /** by copy number, from 1: copies that were weighed (`weighed`: their error is the scale's own), or that are there and printed otherwise */
    copies?: Readonly<Record<number, CopyMass & Readonly<{ weighed?: true }>>>;
    skin?: Skin;
    /** outlines of the cuts it is glued along */
    seams?: readonly Readonly<{ atMm: Vec3; lengthMm: number }>[];
  }>;

/** A surface as an even skin, in mesh coordinates: what can be seen from outside, and for comparison all of it. */
export type Skin = Readonly<{
  outsideMm2: number;
  wholeMm2: number;
  centreMm: Vec3;
  /** about its centre, of a skin of 1 g in all */
  inertiaMm2: Tensor;
}>;

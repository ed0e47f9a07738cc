import { affineOf, applyAffine, hashValue } from '@stonehand/base';
import { transformMesh } from '@stonehand/mesh';
import type { Mesh, Pose, Recipe, Vec3 } from '@stonehand/model';
import { hull2 } from './hull2.ts';
import { poseReason } from './pose-reason.ts';
import { standingOf } from './standing.ts';
import { type Subject, subjectOf } from './subject.ts';
import { facesInNeed, needOfFaces, type SupportOptions } from './support-need.ts';

const AS_MODELLED = [1, 0, 0, 0, 1, 0, 0, 0, 1];

export type PoseOptions = Pick<SupportOptions, 'mostCells' | 'supportIn'>;

/** The facts of one way up: size, support, contact, overhang, how far it may lean, in numbers and in words. */
export function poseOf(mesh: Mesh, rotation: readonly number[], recipe: Recipe, options: PoseOptions = {}): Pose {
  return poseOfSubject(subjectOf(mesh), rotation, recipe, options);
}

export function poseOfSubject(
  subject: Subject,
  rotation: readonly number[],
  recipe: Recipe,
  { mostCells = 1024, supportIn }: PoseOptions = {},
): Pose {
  const { mesh } = subject;
  const standing = standingOf(subject.points, subject.centre, rotation, recipe.firstLayerMm / 2);
  const options = { mostCells, twins: subject.twins, ...(supportIn && { supportIn }) };
  const faces = facesInNeed(mesh, rotation, recipe, options);
  const need = needOfFaces(mesh, faces, recipe, options);
  const turnedOrigin = applyAffine(affineOf(rotation, [0, 0, 0]), mesh.originMm);
  const figures = {
    id: isAsModelled(rotation)
      ? 'asModelled'
      : `turned-${hashValue(rotation.map((v) => Math.round(v * 1e6))).slice(0, 8)}`,
    rotation,
    offsetMm: [0, 1, 2].map((k) => 0 - standing.minMm[k] - turnedOrigin[k]) as unknown as Vec3,
    sizeMm: standing.sizeMm,
    heightMm: standing.sizeMm[2],
    supportMm3: need.volumeMm3,
    scarMm2: need.scarMm2,
    contactMm2: need.contactMm2,
    overhangMm2: faces.overhangMm2,
    tipDeg: standing.tipDeg,
    plateMm2: faces.plateMm2,
    onPartMm2: Math.max(0, need.scarMm2 - need.contactMm2),
    shownScarMm2: need.scarMm2 * subject.shownShare(rotation, recipe.overhangFromVerticalDeg),
  };
  return { ...figures, reason: poseReason(subject, figures, standing) };
}

/** The mesh moved into its pose: on the plate, box minimum at 0, 0, 0. */
export function poseMesh(mesh: Mesh, pose: Pose): Mesh {
  return transformMesh(mesh, affineOf(pose.rotation, pose.offsetMm));
}

/** Hull of the posed part's shadow on the plate, x, y pairs, counter-clockwise: what fitHull asks for. */
export function shadowHull(mesh: Mesh, pose: Pose): Float64Array {
  const p = mesh.positions;
  const [r0, r1, r2, r3, r4, r5] = pose.rotation;
  const origin = applyAffine(affineOf(pose.rotation, pose.offsetMm), mesh.originMm);
  const xy = new Float64Array((2 * p.length) / 3);
  for (let i = 0, k = 0; i < p.length; i += 3) {
    xy[k++] = r0 * p[i] + r1 * p[i + 1] + r2 * p[i + 2] + origin[0];
    xy[k++] = r3 * p[i] + r4 * p[i + 1] + r5 * p[i + 2] + origin[1];
  }
  return hull2(xy);
}

export function isAsModelled(rotation: readonly number[]): boolean {
  return rotation.every((v, i) => v === AS_MODELLED[i]);
}

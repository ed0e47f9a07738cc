import type { Pose, Recipe } from '@stonehand/model';
import { POSE_WEIGHTS } from './pose-cost.ts';
import { areaOf, type Standing } from './standing.ts';
import type { Subject } from './subject.ts';

const FACING_DOWN = Math.cos((0.5 * Math.PI) / 180);

type Figures = Omit<Pose, 'reason'>;

/** One line for people: what lies on the plate, what support it costs, and whether it may topple. */
export function poseReason(subject: Subject, pose: Figures, standing: Standing, recipe: Recipe): string {
  const lies = restsOn(subject, pose, standing, recipe);
  const way = pose.id === 'asModelled' ? `as modelled, ${lies}` : lies;
  const unsteady =
    pose.tipDeg < POSE_WEIGHTS.steadyDeg ? `; leans only ${pose.tipDeg.toFixed(0)}° before it tips, use a brim` : '';
  return `${way}: ${supportWords(subject, pose)}${unsteady}`;
}

function restsOn(subject: Subject, pose: Figures, standing: Standing, recipe: Recipe): string {
  const hullMm2 = standing.contact.length < 6 ? 0 : areaOf(standing.contact);
  const faceMm2 = plateFaceMm2(subject, pose, standing, recipe.firstLayerMm / 2);
  if (faceMm2 < 1) return hullMm2 < 1 ? 'on a point or an edge' : 'on a few points';
  return faceMm2 < 0.5 * hullMm2 ? 'rim down' : 'flat face down';
}

/** Area of the mesh's own faces that lie on the plate: much less than the contact hull's area when it stands on a rim. */
function plateFaceMm2({ mesh }: Subject, pose: Figures, standing: Standing, touchMm: number): number {
  const { positions: p, triangles } = mesh;
  const [ux, uy, uz] = [pose.rotation[6], pose.rotation[7], pose.rotation[8]];
  const plate = standing.minMm[2] + touchMm;
  let twice = 0;
  for (let t = 0; t < triangles.length; t += 3) {
    const a = 3 * triangles[t];
    if (ux * p[a] + uy * p[a + 1] + uz * p[a + 2] > plate) continue;
    const b = 3 * triangles[t + 1];
    const c = 3 * triangles[t + 2];
    const bx = p[b] - p[a];
    const by = p[b + 1] - p[a + 1];
    const bz = p[b + 2] - p[a + 2];
    const cx = p[c] - p[a];
    const cy = p[c + 1] - p[a + 1];
    const cz = p[c + 2] - p[a + 2];
    const nx = by * cz - bz * cy;
    const ny = bz * cx - bx * cz;
    const nz = bx * cy - by * cx;
    const size = Math.sqrt(nx * nx + ny * ny + nz * nz);
    if (-(nx * ux + ny * uy + nz * uz) >= FACING_DOWN * size) twice += size;
  }
  return twice / 2;
}

function supportWords(subject: Subject, pose: Figures): string {
  if (pose.contactMm2 === 0) return 'no support';
  // Less than a match head, or next to nothing beside the part.
  if (pose.supportMm3 < 20 || pose.supportMm3 < 0.002 * subject.volumeMm3) return 'next to no support';
  const cm3 = pose.supportMm3 / 1000;
  return `support under ${Math.max(1, Math.round(pose.contactMm2))} mm², ${cm3 < 10 ? cm3.toFixed(1) : cm3.toFixed(0)} cm³ of columns`;
}

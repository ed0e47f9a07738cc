import type { Pose } from '@stonehand/model';
import { POSE_WEIGHTS } from './pose-cost.ts';
import { areaOf, type Standing } from './standing.ts';
import type { Subject } from './subject.ts';

type Figures = Omit<Pose, 'reason'>;

/** One line for people: what lies on the plate, what support it costs, and whether it may topple. */
export function poseReason(subject: Subject, pose: Figures, standing: Standing): string {
  const lies = restsOn(pose.plateMm2 ?? 0, standing);
  const way = pose.id === 'asModelled' ? `as modelled, ${lies}` : lies;
  const unsteady =
    pose.tipDeg < POSE_WEIGHTS.steadyDeg ? `; leans only ${pose.tipDeg.toFixed(0)}° before it tips, use a brim` : '';
  return `${way}: ${supportWords(subject, pose)}${unsteady}`;
}

function restsOn(faceMm2: number, standing: Standing): string {
  const hullMm2 = standing.contact.length < 6 ? 0 : areaOf(standing.contact);
  if (faceMm2 < 1) return hullMm2 < 1 ? 'on a point or an edge' : 'on a few points';
  return faceMm2 < 0.5 * hullMm2 ? 'rim down' : 'flat face down';
}

function supportWords(subject: Subject, pose: Figures): string {
  if (pose.contactMm2 === 0) return 'no support';
  // Less than a match head, or next to nothing beside the part.
  if (pose.supportMm3 < 20 || pose.supportMm3 < 0.002 * subject.volumeMm3) return 'next to no support';
  const cm3 = pose.supportMm3 / 1000;
  return `support under ${Math.max(1, Math.round(pose.contactMm2))} mm², ${cm3 < 10 ? cm3.toFixed(1) : cm3.toFixed(0)} cm³ of columns`;
}

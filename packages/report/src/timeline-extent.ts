import type { Plan } from '@stonehand/model';
import { momentText } from './words.ts';

/** First and last moment that a timeline shows. */
export function timelineExtent(plan: Plan): { fromMs: number; toMs: number } {
  let fromMs = Date.parse(plan.planFrom);
  let toMs = Date.parse(plan.planTo ?? plan.planFrom);
  for (const run of plan.runs) {
    fromMs = Math.min(fromMs, Date.parse(run.attendFrom));
    toMs = Math.max(toMs, Date.parse(run.end), Date.parse(run.unloadEnd));
  }
  // A deadline months away would squeeze the runs into nothing; it is named in words anyway.
  const deadline = plan.deadline === undefined ? 0 : Date.parse(plan.deadline);
  if (deadline > toMs && deadline - fromMs < 2 * (toMs - fromMs)) toMs = deadline;
  const pad = Math.max(0.25 * 3.6e6, (toMs - fromMs) * 0.015);
  return { fromMs: fromMs - pad / 2, toMs: Math.max(toMs + pad, fromMs + 6 * 3.6e6) };
}

export function timelineLabel(plan: Plan): string {
  const first = plan.runs[0];
  if (first === undefined) return 'timeline without runs';
  return `timeline of ${plan.runs.length} runs from ${momentText(plan.planFrom, plan)}; the same is in the list of what to do`;
}

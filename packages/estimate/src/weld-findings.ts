import type { Finding, Joint, Material } from '@stonehand/model';

/** A welded joint holds only where each of the two materials says that its solvent joins the other's kind (check values B2). */
export function weldFindings(joint: Pick<Joint, 'id' | 'kind'>, materials: readonly Material[]): Finding[] {
  if (joint.kind !== 'weld') return [];
  for (const one of materials)
    for (const other of materials) {
      if (one.joins.includes(other.kind)) continue;
      return [
        {
          code: 'WELD_IMPOSSIBLE',
          severity: 'stop',
          count: 1,
          says:
            one.kind === other.kind
              ? `joint ${joint.id}: no solvent in common use welds ${one.kind}`
              : `joint ${joint.id}: no solvent in common use welds ${one.kind} to ${other.kind}`,
          remedy: 'Make it a glued or screwed joint, or print both of one kind that can be welded (ABS, ASA, HIPS).',
          spoils: [],
        },
      ];
    }
  return [];
}

import type { Finding, PartSummary, Plan, Reading } from '@stonehand/model';

/** What is to be looked at of one mesh, under the names of the parts that are made of it. */
export type MeshFindings = Readonly<{ names: readonly string[]; partId: string; findings: readonly Finding[] }>;

// Done on purpose, so no doubt, but whoever holds the part should know.
const SAID_ANYHOW: ReadonlySet<string> = new Set(['mirrored']);

/** The reading of a part as it is printed; plans of before parts had readings of their own are read by the file. */
export function readingOfPart(
  readings: readonly Reading[],
  part: Pick<PartSummary, 'id' | 'meshFile'>,
): Reading | undefined {
  return readings.find(({ partId }) => partId === part.id) ?? readings.find(({ file }) => file === part.meshFile);
}

export function shownFindings(reading: Reading | undefined): readonly Finding[] {
  return (reading?.findings ?? []).filter(({ severity, code }) => severity !== 'note' || SAID_ANYHOW.has(code));
}

/** The meshes of a plan that are doubtful, worst first; equal findings of several parts once. */
export function meshesToLookAt(plan: Pick<Plan, 'parts' | 'readings'>): readonly MeshFindings[] {
  const groups = new Map<string, { names: string[]; partId: string; findings: readonly Finding[] }>();
  for (const part of plan.parts) {
    const reading = readingOfPart(plan.readings, part);
    const findings = (reading?.findings ?? []).filter(({ severity }) => severity !== 'note');
    if (reading === undefined || findings.length === 0) continue;
    const key = JSON.stringify([reading.meshHash, findings.map(({ says }) => says)]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, { names: [part.name], partId: part.id, findings });
    else group.names.push(part.name);
  }
  const worst = ({ findings }: MeshFindings): number => (findings.some(({ severity }) => severity === 'stop') ? 0 : 1);
  return [...groups.values()].sort((a, b) => worst(a) - worst(b));
}

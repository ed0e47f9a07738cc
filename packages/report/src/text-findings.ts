import { plainLine } from './escape.ts';
import { hanging } from './hanging.ts';
import type { MeshFindings } from './part-findings.ts';
import { listWords } from './words.ts';

/** Two lines a finding: what is wrong with which part, and what to do. */
export function renderFindings(
  meshes: readonly MeshFindings[],
  { width = 80 }: { readonly width?: number } = {},
): string {
  const lines = meshes.flatMap(({ names, findings }) =>
    findings.flatMap(({ severity, says, remedy }) => [
      ...hanging(severity === 'stop' ? '! ' : '? ', plainLine(`${listWords(names)}: ${says}`), width),
      ...(remedy === undefined ? [] : hanging('  ', remedy, width)),
    ]),
  );
  return lines.join('\n');
}

import type { Engine } from './engine.ts';
import { mendTask } from './mend-task.ts';
import type { PartWork } from './part-work.ts';

/** The same parts, those that may be mended with their mended meshes. What cannot be read is left for the next stage to tell. */
export async function mendedWorks(engine: Engine, works: readonly PartWork[]): Promise<readonly PartWork[]> {
  const allowed = works.filter(({ spec, ref }) => spec.mend === true && ref !== undefined);
  if (allowed.length === 0) return works;
  const outcomes = await engine.map(
    mendTask,
    allowed.map(({ ref }) => ({ mesh: ref! })),
    'mending',
  );
  const mended = new Map(allowed.map((work, i) => [work, outcomes[i]!]));
  return works.map((work) => {
    const outcome = mended.get(work);
    if (outcome === undefined || !outcome.ok) return work;
    const { ref, mending } = outcome.value;
    return {
      ...work,
      ...(ref === undefined ? {} : { ref, asInFile: work.ref! }),
      ...(mending === undefined ? {} : { mending }),
    };
  });
}

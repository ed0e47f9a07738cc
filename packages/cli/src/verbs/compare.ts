import { resolve } from 'node:path';
import { loadMesh } from '@stonehand/engine';
import { compareShapes } from '@stonehand/inspect';
import { renderComparison } from '@stonehand/report';
import type { Verb } from '../program.ts';

type CompareOptions = Readonly<{ unit?: string }>;

export const compare: Verb<CompareOptions> = async (names, options, context) => {
  const engine = context.engine();
  const [a, b] = await Promise.all(
    [names[0]!, names[1]!].map(async (name) => {
      const path = resolve(name);
      const contentHash = await engine.content.hashOf(path, name);
      return loadMesh(
        { name, path, contentHash, scale: 1, ...(options.unit === undefined ? {} : { unit: options.unit }) },
        engine.cacheFolder,
      );
    }),
  );
  const comparison = compareShapes(a!.mesh, b!.mesh);
  context.print(
    options.json === true
      ? JSON.stringify(comparison)
      : renderComparison(names[0]!, names[1]!, comparison, {
          width: context.width,
          colour: context.colour,
          units: options.units ?? 'metric',
        }),
  );
  return 0;
};

import { StonehandError } from '@stonehand/base';
import { planFor } from '../plan-for.ts';
import type { Verb } from '../program.ts';
import { workspaceOnDisk } from '../workspace-of.ts';
import { writeShare } from '../write-share.ts';

type PackOptions = Readonly<{ out?: string }>;

export const pack: Verb<PackOptions> = async ([path], options, context) => {
  if (options.out === undefined)
    throw new StonehandError('USAGE', 'pack: no folder is named to write to', 'Name one with --out FOLDER.');
  const workspace = await workspaceOnDisk(path);
  const result = await planFor(path, options, context);
  const share = await writeShare(workspace, result, context.engine(workspace.root), options.out);
  context.print(
    options.json === true
      ? JSON.stringify(share)
      : `${share.files.length} files in ${share.folder}${share.left.length === 0 ? '' : `; left out: ${share.left.map(({ partId, why }) => `${partId} (${why})`).join(', ')}`}`,
  );
  return 0;
};

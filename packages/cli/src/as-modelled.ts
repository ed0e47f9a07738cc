import type { Assembly, Workspace } from '@stonehand/model';

/** The same workspace with every part in the pose of its file. */
export function asModelled(workspace: Workspace): Workspace {
  const turned = (assembly: Assembly): Assembly => ({
    ...assembly,
    parts: assembly.parts.map((part) => ({ ...part, pose: 'asModelled' })),
    children: assembly.children.map((child) => ({ ...child, assembly: turned(child.assembly) })),
  });
  return { ...workspace, assemblies: workspace.assemblies.map(turned) };
}

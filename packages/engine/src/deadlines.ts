import type { Assembly, Workspace } from '@stonehand/model';
import { parseMoment, toEpochS } from '@stonehand/schedule';

/** By assembly, the earliest deadline of it and of the assemblies it is in, epoch seconds; Infinity without one. */
export function deadlines({ assemblies, timeZone }: Workspace): (assemblyId: string) => number {
  const dues = new Map<string, number>();
  const visit = ({ id, deadline, children }: Assembly, above: number): void => {
    const own = deadline === undefined ? Infinity : toEpochS(parseMoment(deadline, { timeZone }));
    const due = Math.min(above, own);
    dues.set(id, due);
    for (const child of children) visit(child.assembly, due);
  };
  for (const assembly of assemblies) visit(assembly, Infinity);
  return (assemblyId) => dues.get(assemblyId) ?? Infinity;
}

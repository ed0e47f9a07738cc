/** A copy's printers and the seconds it takes there. */
export type Job = Readonly<{
  seconds: ReadonlyMap<string, number>;
  family: string | undefined;
  /** copies with this word go to one printer whatever the hours, where one takes them all */
  together?: string | undefined;
}>;

/**
 * Chooses a printer for each job so that the busiest printer has little to do: longest first to where it ends earliest
 * (Graham 1969's rule on unlike machines), then single moves and swaps away from the busiest while its hours fall.
 * Mates of a family move as one, because colours and sizes differ between printers; only a family that alone takes more
 * than an even share of all the hours, or has no printer in common, is taken apart.
 */
export function assign(jobs: readonly Job[], printerIds: readonly string[]): string[] {
  const blocks = blocksOf(jobs, printerIds);
  const load = new Map(printerIds.map((id) => [id, 0]));
  const least = blocks.map((block) => Math.min(...block.seconds.values()));
  const order = blocks.map((_, i) => i).sort((a, b) => least[b]! - least[a]! || a - b);
  const chosen: string[] = new Array(blocks.length).fill('');
  for (const i of order) {
    const able = printerIds.filter((id) => blocks[i]!.seconds.has(id));
    const ends = (id: string): number => load.get(id)! + blocks[i]!.seconds.get(id)!;
    chosen[i] = able.reduce((a, b) => (ends(b) < ends(a) ? b : a));
    load.set(chosen[i]!, ends(chosen[i]!));
  }
  improve(blocks, printerIds, chosen, load);
  const out: string[] = new Array(jobs.length).fill('');
  blocks.forEach((block, k) => {
    for (const i of block.jobs) out[i] = chosen[k]!;
  });
  return out;
}

type Block = Readonly<{ jobs: readonly number[]; seconds: ReadonlyMap<string, number> }>;

function blocksOf(jobs: readonly Job[], printerIds: readonly string[]): Block[] {
  const able = new Set(jobs.flatMap((job) => [...job.seconds.keys()])).size;
  const evenShare = jobs.reduce((sum, job) => sum + Math.min(...job.seconds.values()), 0) / Math.max(1, able);
  const families = new Map<string, number[]>();
  jobs.forEach((job, i) => {
    const mates = job.family === undefined ? `alone ${i}` : `family ${job.family}`;
    const name = job.together === undefined ? mates : `together ${job.together}`;
    families.set(name, [...(families.get(name) ?? []), i]);
  });
  const blocks: Block[] = [];
  for (const members of families.values()) {
    const seconds = new Map<string, number>();
    for (const id of printerIds) {
      if (!members.every((i) => jobs[i]!.seconds.has(id))) continue;
      seconds.set(
        id,
        members.reduce((sum, i) => sum + jobs[i]!.seconds.get(id)!, 0),
      );
    }
    const longest = jobs[members[0]!]!.together === undefined ? evenShare : Number.MAX_VALUE;
    if (members.length === 1 || Math.min(...seconds.values()) <= longest) blocks.push({ jobs: members, seconds });
    else for (const i of members) blocks.push({ jobs: [i], seconds: jobs[i]!.seconds });
  }
  return blocks;
}

function improve(
  blocks: readonly Block[],
  printerIds: readonly string[],
  chosen: string[],
  load: Map<string, number>,
): void {
  for (let step = 0; step < 4 * blocks.length; step++) {
    const busiest = printerIds.reduce((a, b) => (load.get(b)! > load.get(a)! ? b : a));
    const move = bestMove(blocks, printerIds, chosen, load, busiest);
    if (move === undefined) return;
    for (const [i, to] of move) {
      load.set(chosen[i]!, load.get(chosen[i]!)! - blocks[i]!.seconds.get(chosen[i]!)!);
      load.set(to, load.get(to)! + blocks[i]!.seconds.get(to)!);
      chosen[i] = to;
    }
  }
}

type Move = readonly (readonly [block: number, to: string])[];

/** The move or swap that leaves the two printers it touches least busy, if that is below the busiest now. */
function bestMove(
  blocks: readonly Block[],
  printerIds: readonly string[],
  chosen: readonly string[],
  load: ReadonlyMap<string, number>,
  busiest: string,
): Move | undefined {
  let best: Move | undefined;
  // Moves that win less than a minute are rounding.
  let bestPeak = load.get(busiest)! - 60;
  for (let i = 0; i < blocks.length; i++) {
    if (chosen[i] !== busiest) continue;
    const here = blocks[i]!.seconds.get(busiest)!;
    for (const to of printerIds) {
      const there = blocks[i]!.seconds.get(to);
      if (to === busiest || there === undefined) continue;
      const peak = Math.max(load.get(busiest)! - here, load.get(to)! + there);
      if (peak < bestPeak) {
        best = [[i, to]];
        bestPeak = peak;
      }
      for (let j = 0; j < blocks.length; j++) {
        const back = blocks[j]!.seconds.get(busiest);
        if (chosen[j] !== to || back === undefined) continue;
        const swapped = Math.max(load.get(busiest)! - here + back, load.get(to)! + there - blocks[j]!.seconds.get(to)!);
        if (swapped < bestPeak) {
          best = [
            [i, to],
            [j, busiest],
          ];
          bestPeak = swapped;
        }
      }
    }
  }
  return best;
}

import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { join } from 'node:path';
import type { Accepted } from '@stonehand/model';
import { replaceFile } from '@stonehand/shop';
import { fileNameOf } from './file-name.ts';

/** What `split` proposed last for a part, until `accept` keeps it. */
export type CutProposal = Readonly<{ partId: string; meshHash: string; planes: Accepted['cuts'][string] }>;

/** Keeps a proposal beside the cache of the workspace. */
export async function keepProposal(cacheFolder: string, proposal: CutProposal): Promise<void> {
  mkdirSync(join(cacheFolder, 'proposed'), { recursive: true });
  await replaceFile(fileOf(cacheFolder, proposal.partId), JSON.stringify(proposal));
}

/** The proposal for a part, unless its mesh has changed since. */
export function proposalFor(cacheFolder: string, partId: string, meshHash: string): CutProposal | undefined {
  try {
    const proposal = JSON.parse(readFileSync(fileOf(cacheFolder, partId), 'utf8')) as CutProposal;
    return proposal.partId === partId && proposal.meshHash === meshHash ? proposal : undefined;
  } catch {
    return undefined;
  }
}

export function dropProposal(cacheFolder: string, partId: string): void {
  rmSync(fileOf(cacheFolder, partId), { force: true });
}

const fileOf = (cacheFolder: string, partId: string): string =>
  join(cacheFolder, 'proposed', `${fileNameOf(partId)}.json`);

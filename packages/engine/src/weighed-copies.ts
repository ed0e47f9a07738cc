import { PRIORS } from '@stonehand/estimate';
import type { LedgerEntry } from '@stonehand/model';

/** What an estimate says of one piece: grams off the printer, and of them those that stay in the part. */
export type PieceGrams = Readonly<{ massG: number; partG: number }>;

/** A piece that stood on a scale: grams that stay in the part, and how far that may be off. */
export type WeighedPiece = Readonly<{ massG: number; halfG: number }>;

/** A kitchen scale shows whole grams (common practice): half of one either way. */
const SCALE_G = 0.5;
/** Several copies weighed together are shared out as they were estimated; each may be off by this share of its own. */
const SHARED_OUT = 0.03;

/**
 * The pieces that the ledger knows the mass of, by copy id: the latest word on each. `weighed` is the part itself; grams of
 * `done` are as it came off the plate, so the estimated support is taken off, with its doubt. What failed is scrap.
 */
export function weighedPieces(
  ledger: readonly LedgerEntry[],
  gramsOf: (pieceId: string) => PieceGrams | undefined,
  piecesOf: (id: string) => readonly string[],
): Map<string, WeighedPiece> {
  const known = new Map<string, WeighedPiece>();
  for (const entry of ledger) {
    const copies = (entry.copyIds ?? []).flatMap((copy) => copiesOfPieces(copy, piecesOf));
    if (entry.what === 'failed') for (const copy of copies) known.delete(copy);
    if ((entry.what !== 'weighed' && entry.what !== 'done') || entry.massG === undefined || copies.length === 0)
      continue;
    const grams = copies.map((copy) => gramsOf(copy.slice(0, copy.lastIndexOf('#'))));
    // A piece that nothing is known of would leave no way to share the grams out.
    if (grams.some((one) => one === undefined)) continue;
    const counted = grams.map((one) => (entry.what === 'weighed' ? one!.partG : one!.massG));
    const whole = counted.reduce((sum, g) => sum + g, 0);
    if (whole === 0) continue;
    copies.forEach((copy, i) => {
      const supportG = entry.what === 'weighed' ? 0 : grams[i]!.massG - grams[i]!.partG;
      const massG = Math.max(0, (entry.massG! * counted[i]!) / whole - supportG);
      const doubts = [SCALE_G, PRIORS.support.high * supportG, copies.length > 1 ? SHARED_OUT * massG : 0];
      known.set(copy, { massG, halfG: Math.hypot(...doubts) });
    });
  }
  return known;
}

/** "part#2" stands for every piece of that copy. */
function copiesOfPieces(copy: string, piecesOf: (id: string) => readonly string[]): string[] {
  const at = copy.lastIndexOf('#');
  const [id, number] = [copy.slice(0, at), copy.slice(at)];
  const pieces = piecesOf(id);
  return pieces.length === 0 ? [copy] : pieces.map((piece) => `${piece}${number}`);
}

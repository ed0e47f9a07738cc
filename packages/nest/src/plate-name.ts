/**
 * A plate's name by what is on it and where: "skull and beak on loft", "6 foot pads on shed", "skull b, beak and 4 more on bench".
 * @param copyIds "part#2", "part/b#2", "assembly/part#1"
 */
export function plateName(copyIds: readonly string[], printerId: string): string {
  const counts = new Map<string, number>();
  for (const copyId of copyIds) counts.set(wordsOf(copyId), (counts.get(wordsOf(copyId)) ?? 0) + 1);
  const kinds = [...counts].sort((a, b) => b[1] - a[1] || (a[0] < b[0] ? -1 : 1));
  const texts = kinds.map(([words, count]) => (count === 1 ? words : `${count} ${plural(words)}`));
  return `${listed(texts)} on ${printerId}`;
}

function wordsOf(copyId: string): string {
  const parts = copyId.replace(/#\d+$/, '').split('/');
  const last = parts.at(-1)!;
  // A piece's letter means nothing without its part.
  const isLetter = /^[a-z]{1,2}$/.test(last) && parts.length > 1;
  return (isLetter ? `${parts.at(-2)} ${last}` : last).replaceAll(/[-_]/g, ' ');
}

function plural(words: string): string {
  return /s$/.test(words) || / [a-z]{1,2}$/.test(words) ? `× ${words}` : `${words}s`;
}

function listed(texts: readonly string[]): string {
  if (texts.length === 1) return texts[0]!;
  if (texts.length <= 3) return `${texts.slice(0, -1).join(', ')} and ${texts.at(-1)}`;
  return `${texts.slice(0, 2).join(', ')} and ${texts.length - 2} more kinds`;
}

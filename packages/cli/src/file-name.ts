/** A name that every file system takes: letters, digits, dots and hyphens of it, the rest as single hyphens. */
export function fileNameOf(name: string): string {
  const safe = name
    .normalize('NFKD')
    .replace(/[^\p{L}\p{N}.]+/gu, '-')
    .replace(/^[-.]+|[-.]+$/g, '')
    .slice(0, 80);
  return safe === '' ? 'unnamed' : safe;
}

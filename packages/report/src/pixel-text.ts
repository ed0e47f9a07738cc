// Five by seven dots a letter, a row a number, leftmost dot in bit 4. Names are written in small letters throughout.
const LETTERS: Readonly<Record<string, readonly number[]>> = {
  '0': [14, 17, 19, 21, 25, 17, 14],
  '1': [4, 12, 4, 4, 4, 4, 14],
  '2': [14, 17, 1, 2, 4, 8, 31],
  '3': [31, 2, 4, 2, 1, 17, 14],
  '4': [2, 6, 10, 18, 31, 2, 2],
  '5': [31, 16, 30, 1, 1, 17, 14],
  '6': [6, 8, 16, 30, 17, 17, 14],
  '7': [31, 1, 2, 4, 8, 8, 8],
  '8': [14, 17, 17, 14, 17, 17, 14],
  '9': [14, 17, 17, 15, 1, 2, 12],
  a: [0, 0, 14, 1, 15, 17, 15],
  b: [16, 16, 22, 25, 17, 17, 30],
  c: [0, 0, 14, 16, 16, 17, 14],
  d: [1, 1, 13, 19, 17, 17, 15],
  e: [0, 0, 14, 17, 31, 16, 14],
  f: [6, 9, 8, 28, 8, 8, 8],
  g: [0, 15, 17, 17, 15, 1, 14],
  h: [16, 16, 22, 25, 17, 17, 17],
  i: [4, 0, 12, 4, 4, 4, 14],
  j: [2, 0, 6, 2, 2, 18, 12],
  k: [16, 16, 18, 20, 24, 20, 18],
  l: [12, 4, 4, 4, 4, 4, 14],
  m: [0, 0, 26, 21, 21, 21, 21],
  n: [0, 0, 22, 25, 17, 17, 17],
  o: [0, 0, 14, 17, 17, 17, 14],
  p: [0, 0, 30, 17, 30, 16, 16],
  q: [0, 0, 13, 19, 15, 1, 1],
  r: [0, 0, 22, 25, 16, 16, 16],
  s: [0, 0, 14, 16, 14, 1, 30],
  t: [8, 8, 28, 8, 8, 9, 6],
  u: [0, 0, 17, 17, 17, 19, 13],
  v: [0, 0, 17, 17, 17, 10, 4],
  w: [0, 0, 17, 17, 21, 21, 10],
  x: [0, 0, 17, 10, 4, 10, 17],
  y: [0, 0, 17, 17, 15, 1, 14],
  z: [0, 0, 31, 2, 4, 8, 31],
  '-': [0, 0, 0, 31, 0, 0, 0],
  ',': [0, 0, 0, 0, 12, 4, 8],
  '.': [0, 0, 0, 0, 0, 12, 12],
  '#': [10, 10, 31, 10, 31, 10, 10],
  '/': [0, 1, 2, 4, 8, 16, 0],
  '°': [12, 18, 18, 12, 0, 0, 0],
  ' ': [0, 0, 0, 0, 0, 0, 0],
};

/** Dots of a text, 6 a letter wide and 7 high; capitals as small letters, a letter without dots as a box. */
export function pixelText(text: string, dot: (x: number, y: number) => void): void {
  [...text.toLowerCase()].forEach((letter, at) => {
    const rows = LETTERS[letter] ?? UNKNOWN;
    rows.forEach((bits, y) => {
      for (let x = 0; x < 5; x++) if ((bits >> (4 - x)) & 1) dot(6 * at + x, y);
    });
  });
}

const UNKNOWN: readonly number[] = [31, 17, 17, 17, 17, 17, 31];

export function pixelTextWidth(text: string): number {
  return Math.max(0, 6 * [...text].length - 1);
}

// Five by seven dots a letter, a row a number, leftmost dot in bit 4. Only what a ruler and a scale of angles need.
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
  m: [0, 0, 26, 21, 21, 21, 21],
  '°': [12, 18, 18, 12, 0, 0, 0],
  ' ': [0, 0, 0, 0, 0, 0, 0],
};

/** Dots of a text, 6 a letter wide and 7 high. @throws RangeError for a letter that is not in the table */
export function pixelText(text: string, dot: (x: number, y: number) => void): void {
  [...text].forEach((letter, at) => {
    const rows = LETTERS[letter];
    if (rows === undefined) throw new RangeError(`pixelText: no dots for "${letter}"`);
    rows.forEach((bits, y) => {
      for (let x = 0; x < 5; x++) if ((bits >> (4 - x)) & 1) dot(6 * at + x, y);
    });
  });
}

export function pixelTextWidth(text: string): number {
  return Math.max(0, 6 * [...text].length - 1);
}

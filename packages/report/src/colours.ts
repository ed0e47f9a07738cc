/**
 * Colours that keep apart under the common kinds of colour blindness (Okabe & Ito 2008, "Color universal design"), in the
 * order in which they are given out. They always stand beside a word.
 */
export const CATEGORY_COLOURS: readonly string[] = [
  '#0072B2',
  '#E69F00',
  '#009E73',
  '#CC79A7',
  '#56B4E9',
  '#D55E00',
  '#7A7A7A',
];

// Cividis (Nuñez, Anderton, Renslow 2018, PLoS ONE 13(7) e0199239), sampled at sixteen even steps of its published table.
const CIVIDIS: readonly (readonly [number, number, number])[] = [
  [0, 34, 78],
  [0, 46, 108],
  [30, 58, 111],
  [53, 69, 108],
  [71, 81, 108],
  [87, 93, 109],
  [102, 105, 112],
  [117, 117, 117],
  [132, 130, 121],
  [148, 142, 119],
  [165, 156, 116],
  [183, 169, 110],
  [200, 184, 102],
  [219, 199, 90],
  [238, 214, 73],
  [254, 232, 56],
];

/** The perceptually uniform ramp of quantities, 0 to 1, as sRGB bytes. */
export function cividis(share: number): [number, number, number] {
  const at = Math.min(1, Math.max(0, share)) * (CIVIDIS.length - 1);
  const i = Math.min(CIVIDIS.length - 2, Math.floor(at));
  const a = CIVIDIS[i]!;
  const b = CIVIDIS[i + 1]!;
  const mix = (k: 0 | 1 | 2): number => Math.round(a[k] + (b[k] - a[k]) * (at - i));
  return [mix(0), mix(1), mix(2)];
}

/** sRGB to linear light (IEC 61966-2-1). */
export function linear(c: number): number {
  return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
}

/** A category's colour as CSS: the page's variable (which dark mode may lighten) with the plain colour for a drawing that stands alone. */
export function categoryColour(index: number): string {
  const i = index % CATEGORY_COLOURS.length;
  return `var(--c${i + 1},${CATEGORY_COLOURS[i]})`;
}

/** A category's colour as bytes, for pictures of pixels. */
export function categoryRgb(index: number): [number, number, number] {
  const hex = CATEGORY_COLOURS[index % CATEGORY_COLOURS.length]!;
  return [1, 3, 5].map((at) => Number.parseInt(hex.slice(at, at + 2), 16)) as [number, number, number];
}

// Filament colours are words; CSS names are what most of them are. Used for 3MF display colours only.
const COLOUR_WORDS: Readonly<Record<string, string>> = {
  white: '#F4F4F2',
  black: '#202020',
  grey: '#808080',
  gray: '#808080',
  silver: '#B8BABC',
  red: '#C0392B',
  orange: '#E67E22',
  yellow: '#F1C40F',
  green: '#2E8B57',
  blue: '#2C6FBB',
  purple: '#7D4FA0',
  pink: '#E29AB5',
  brown: '#7B4F2E',
  natural: '#E8E2D0',
  clear: '#E6EEF2',
  beige: '#D9C9A8',
};

/** `#RRGGBB` for a filament's colour word or hex code; mid grey when it is unknown. */
export function displayColour(word: string): string {
  const text = word.trim().toLowerCase();
  if (/^#[0-9a-f]{6}$/.test(text)) return text.toUpperCase();
  const known = text.split(/[^a-z]+/).find((part) => COLOUR_WORDS[part] !== undefined);
  return known === undefined ? '#808080' : COLOUR_WORDS[known]!;
}

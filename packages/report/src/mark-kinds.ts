import type { Rgb } from './pose-png.ts';

type Kind = Readonly<{ rgb: Rgb; sign: 'line' | 'face' | 'ring'; one: string; several: string }>;

// Okabe & Ito 2008, as everywhere for categories; a colour never stands without its words. Kinds that meet in one picture differ.
const ORANGE: Rgb = [230, 159, 0];
const SKY: Rgb = [86, 180, 233];
const GREEN: Rgb = [0, 158, 115];
const BLUE: Rgb = [0, 114, 178];
const VERMILION: Rgb = [213, 94, 0];
const PURPLE: Rgb = [204, 121, 167];

const KINDS: Readonly<Record<string, Kind>> = {
  holes: { rgb: VERMILION, sign: 'line', one: 'edge at a hole or crack', several: 'edges at holes or cracks' },
  facing: { rgb: BLUE, sign: 'line', one: 'edge where facing turns over', several: 'edges where facing turns over' },
  sharedEdges: {
    rgb: PURPLE,
    sign: 'line',
    one: 'edge of three or more triangles',
    several: 'edges of three or more triangles',
  },
  insideOutBodies: { rgb: SKY, sign: 'face', one: 'face that looks inwards', several: 'faces that look inwards' },
  overlap: {
    rgb: ORANGE,
    sign: 'face',
    one: 'face that crosses another body or lies in it',
    several: 'faces that cross another body or lie in it',
  },
  selfIntersections: {
    rgb: ORANGE,
    sign: 'face',
    one: 'face that crosses another',
    several: 'faces that cross each other',
  },
  sharedPoints: { rgb: GREEN, sign: 'ring', one: 'point where parts touch', several: 'points where parts touch' },
  specks: { rgb: GREEN, sign: 'ring', one: 'speck', several: 'specks' },
  thinWalls: { rgb: BLUE, sign: 'ring', one: 'thinnest wall', several: 'thinnest walls' },
  duplicates: { rgb: SKY, sign: 'ring', one: 'doubled triangle', several: 'doubled triangles' },
};
const OTHER: Kind = { rgb: VERMILION, sign: 'ring', one: 'place to look at', several: 'places to look at' };

function kindOf(code: string): Kind {
  return KINDS[code] ?? OTHER;
}

/** Colour of the marks of a finding's code. */
export function markRgb(code: string): Rgb {
  return kindOf(code).rgb;
}

export function markCss(code: string): string {
  return `rgb(${kindOf(code).rgb.join(',')})`;
}

export function markSign(code: string): Kind['sign'] {
  return kindOf(code).sign;
}

/** What a mark means, in words. */
export function markWords(code: string, count: number): string {
  const { one, several } = kindOf(code);
  return count === 1 ? one : several;
}

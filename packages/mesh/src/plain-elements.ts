import type { NumberList } from './number-list.ts';

const DIGITS = '([+-]?(?:\\d+(?:\\.\\d*)?|\\.\\d+)(?:[eE][+-]?\\d+)?)';
const VERTEX = new RegExp(`\\s*<vertex x="${DIGITS}" y="${DIGITS}" z="${DIGITS}"\\s*/>`, 'y');
const PROPERTIES = '(?: pid="\\d+")?(?: p1="\\d+")?(?: p2="\\d+")?(?: p3="\\d+")?';
const TRIANGLE = new RegExp(`\\s*<triangle v1="(\\d+)" v2="(\\d+)" v3="(\\d+)"${PROPERTIES}\\s*/>`, 'y');

/**
 * Takes vertices of a 3MF mesh from a text as long as they are written in the one plain form that nearly all programs write.
 * Whatever is written otherwise, wrong, or cut off by the end of the text is left where it is, for the XML reader.
 * See DECISIONS.md "Plain elements beside the XML reader".
 * @param from where an element may begin, inside `vertices` of the default namespace
 * @returns where it stopped
 */
export function takeVertices(text: string, from: number, points: NumberList): number {
  let at = from;
  for (;;) {
    VERTEX.lastIndex = at;
    const found = VERTEX.exec(text);
    if (found === null) return at;
    points.push(Number(found[1]));
    points.push(Number(found[2]));
    points.push(Number(found[3]));
    at = VERTEX.lastIndex;
  }
}

/** The same for triangles; one that names a vertex beyond the list or the same twice is left as well. */
export function takeTriangles(text: string, from: number, vertices: number, corners: NumberList): number {
  let at = from;
  for (;;) {
    TRIANGLE.lastIndex = at;
    const found = TRIANGLE.exec(text);
    if (found === null) return at;
    const a = Number(found[1]);
    const b = Number(found[2]);
    const c = Number(found[3]);
    if (a >= vertices || b >= vertices || c >= vertices || a === b || b === c || c === a) return at;
    corners.push(a);
    corners.push(b);
    corners.push(c);
    at = TRIANGLE.lastIndex;
  }
}

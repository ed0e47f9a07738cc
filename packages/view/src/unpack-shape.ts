import { inflateSync } from 'fflate';
import { ByteReader } from './byte-stream.ts';

/** What the page draws: x y z in mm, three vertices a triangle by index. */
export type Shape = Readonly<{ positions: Float32Array; triangles: Uint32Array }>;

/** Reads what packShape wrote. */
export function unpackShape(packed: Uint8Array): Shape {
  const bytes = new ByteReader(inflateSync(packed));
  const min = [0, 0, 0];
  const step = [0, 0, 0];
  for (let axis = 0; axis < 3; axis++) {
    min[axis] = bytes.micrometres();
    step[axis] = bytes.unsigned() / 1e6;
  }
  const vertices = bytes.unsigned();
  const triangles = new Uint32Array(bytes.unsigned());
  let newest = 0;
  for (let i = 0; i < triangles.length; i++) {
    const code = bytes.unsigned();
    triangles[i] = code === 0 ? newest++ : newest - code;
  }
  const positions = new Float32Array(3 * vertices);
  for (let axis = 0; axis < 3; axis++) {
    let at = 0;
    for (let v = 0; v < vertices; v++) {
      at += bytes.signed();
      positions[3 * v + axis] = min[axis]! + at * step[axis]!;
    }
  }
  return { positions, triangles };
}

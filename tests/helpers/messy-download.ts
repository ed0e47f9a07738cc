import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { seededRandom } from '@stonehand/base';
import { transformMesh, weld, writeStl } from '@stonehand/mesh';
import type { Mesh } from '@stonehand/model';
import { strToU8, zipSync } from 'fflate';

/**
 * A download as people get it: archives in archives, one part in three formats, a left and a right one, two revisions, inches, a
 * file cut off, quantities in names, and a list that names more than is there. Among them are decoys that must raise nothing.
 */
export function writeMessyDownload(folder: string): void {
  const hub = blockOf([40, 26, 12], 1);
  const cowl = blockOf([120, 80, 35], 2);
  const fin = blockOf([90, 30, 8], 3);
  const strut = blockOf([25, 18, 150], 4);
  const plate = blockOf([60, 45, 6], 5);
  const inner = zipSync({
    'fin-left.stl': writeStl(fin, 'fin'),
    'fin-right.stl': writeStl(transformMesh(shuffled(fin), [-1, 0, 0, 7, 0, 1, 0, 0, 0, 0, 1, 0]), 'fin'),
    'Cowl v2.stl': writeStl(scaledZ(cowl, 1.06), 'cowl'),
  });
  const outer = zipSync({
    'wing/more parts.zip': inner,
    'wing/hub turned.ply': strToU8(plyText(transformMesh(shuffled(hub), TURN))),
    'wing/strut (1).stl': writeStl(scaledZ(strut, 1.02), 'strut'),
    'wing/notes.pdf': strToU8('not a mesh'),
    'parts.txt': strToU8('Printed parts:\n- 4x hub\n- fin left\n- fin right\n- tail hook (2)\n- M3x12 screws x8\n'),
  });
  const torn = writeStl(blockOf([33, 22, 11], 6), 'torn');
  const files: Readonly<Record<string, Uint8Array>> = {
    'download.zip': outer,
    'hub_x4.stl': writeStl(hub, 'hub'),
    'hub.obj': strToU8(objText(shuffled(hub))),
    'Cowl v1.stl': writeStl(cowl, 'cowl'),
    'strut.stl': writeStl(strut, 'strut'),
    'plate.stl': writeStl(plate, 'plate'),
    // The same plate as drawn in inches.
    'plate-us.stl': writeStl(transformMesh(plate, SMALLER), 'plate'),
    // 3 3/16 by 2 1/2 by 7/16: nothing but its numbers speaks.
    'gauge.stl': writeStl(blockOf([3.1875, 2.5, 0.4375], 7), 'gauge'),
    'clip (2 of).stl': writeStl(blockOf([31, 12, 5], 8), 'clip'),
    'torn.stl': torn.subarray(0, torn.length - 130),
    'half.zip': outer.subarray(0, outer.length >> 1),
    'README.md': strToU8('# Wing\n\nPrint Cowl, hub_x4.stl and rudder.stl. Use 0.2 mm layers.\n\n- PLA is fine\n'),
    // Decoys: sizes in names, a piece of a set, versions of nothing alike, nearly the same sizes, a part drawn larger on purpose.
    'peg 40x20.stl': writeStl(blockOf([40, 20, 9], 9), 'peg'),
    'clamp-m3x12.stl': writeStl(blockOf([28, 14, 14], 10), 'clamp'),
    'key-2-of-5.stl': writeStl(blockOf([55, 9, 9], 11), 'key'),
    'knob-v1.stl': writeStl(blockOf([20, 20, 20], 12), 'knob'),
    'knob-v2.stl': writeStl(blockOf([70, 15, 10], 13), 'knob'),
    'peg large.stl': writeStl(transformMesh(blockOf([40, 20, 9], 9), LARGER), 'peg'),
    'rail a.stl': writeStl(blockOf([81, 16, 7], 14), 'rail'),
    'rail b.stl': writeStl(blockOf([81, 16, 7], 15), 'rail'),
  };
  for (const [name, bytes] of Object.entries(files)) {
    mkdirSync(dirname(join(folder, name)), { recursive: true });
    writeFileSync(join(folder, name), bytes);
  }
}

// A third of a turn about the diagonal, then 30° about z, and away.
const TURN = [0, -0.5, Math.sqrt(3) / 2, 12, 0, Math.sqrt(3) / 2, 0.5, -3, -1, 0, 0, 40];
const SMALLER = [1 / 25.4, 0, 0, 0, 0, 1 / 25.4, 0, 0, 0, 0, 1 / 25.4, 0];
const LARGER = [1.1, 0, 0, 0, 0, 1.1, 0, 0, 0, 0, 1.1, 0];

/** A closed block with six bevelled corners of its own, so that it is no mirror image of itself; its box is exactly `size`. */
export function blockOf(size: readonly [number, number, number], seed: number): Mesh {
  const random = seededRandom(seed);
  // Bottom and top are hexagons that touch all four sides; their middle corners move along the sides.
  const ring = (z: number): number[][] => {
    const at = (): number => 0.25 + 0.5 * random.next();
    return [
      [0, 0, z],
      [at(), 0, z],
      [1, at(), z],
      [1, 1, z],
      [at(), 1, z],
      [0, at(), z],
    ].map(([x, y]) => [x! * size[0], y! * size[1], z * size[2]]);
  };
  const [low, high] = [ring(0), ring(1)];
  const soup: number[] = [];
  const triangle = (...points: readonly number[][]): void => {
    for (const point of points) soup.push(...point);
  };
  for (let i = 0; i < 6; i++) {
    const j = (i + 1) % 6;
    triangle(low[i]!, low[j]!, high[j]!);
    triangle(low[i]!, high[j]!, high[i]!);
    if (i > 0 && i < 5) {
      triangle(low[0]!, low[i + 1]!, low[i]!);
      triangle(high[0]!, high[i]!, high[i + 1]!);
    }
  }
  return weld(Float64Array.from(soup));
}

/** The same triangles in another order, each from another corner. */
export function shuffled(mesh: Mesh): Mesh {
  const random = seededRandom(99);
  const rows = Array.from({ length: mesh.triangles.length / 3 }, (_, i) => {
    const [a, b, c] = mesh.triangles.subarray(3 * i, 3 * i + 3);
    return { at: random.next(), corners: [b!, c!, a!] };
  }).sort((x, y) => x.at - y.at);
  return { ...mesh, triangles: Uint32Array.from(rows.flatMap(({ corners }) => corners)) };
}

function scaledZ(mesh: Mesh, factor: number): Mesh {
  return transformMesh(mesh, [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, factor, 0]);
}

function objText({ positions, triangles }: Mesh): string {
  const lines: string[] = [];
  for (let i = 0; i < positions.length; i += 3) lines.push(`v ${positions.subarray(i, i + 3).join(' ')}`);
  for (let k = 0; k < triangles.length; k += 3)
    lines.push(`f ${[0, 1, 2].map((c) => triangles[k + c]! + 1).join(' ')}`);
  return `${lines.join('\n')}\n`;
}

function plyText({ positions, triangles }: Mesh): string {
  const lines = [
    'ply',
    'format ascii 1.0',
    `element vertex ${positions.length / 3}`,
    'property float x',
    'property float y',
    'property float z',
    `element face ${triangles.length / 3}`,
    'property list uchar int vertex_indices',
    'end_header',
  ];
  for (let i = 0; i < positions.length; i += 3) lines.push(positions.subarray(i, i + 3).join(' '));
  for (let k = 0; k < triangles.length; k += 3) lines.push(`3 ${triangles.subarray(k, k + 3).join(' ')}`);
  return `${lines.join('\n')}\n`;
}

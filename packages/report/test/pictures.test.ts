import { WebIO } from '@gltf-transform/core';
import type { Mesh } from '@stonehand/model';
import { cividis, partGlb, posePng } from '@stonehand/report';
import { decode } from 'fast-png';
import { describe, expect, test } from 'vitest';
import { ball, box, mushroom, sizeOf, volumeOf } from './shapes.ts';

type Picture = Readonly<{ width: number; height: number; data: Uint8Array }>;
const picture = (mesh: Mesh, options: Parameters<typeof posePng>[1]): Picture => {
  const png = decode(posePng(mesh, options));
  return { width: png.width, height: png.height, data: png.data as Uint8Array };
};
const BARE = { view: 'above', scale: false, ruler: false, widthPx: 210, heightPx: 210 } as const;

/** Columns and rows that hold something opaque, and sums of coverage of all pixels for which pick holds. */
function coverage(
  { width, height, data }: Picture,
  pick: (r: number, g: number, b: number) => boolean,
): { area: number; width: number; height: number } {
  let area = 0;
  const columns = new Float64Array(width);
  const rows = new Float64Array(height);
  for (let i = 0; i < width * height; i++) {
    const alpha = data[4 * i + 3]! / 255;
    if (alpha < 0.2 || !pick(data[4 * i]!, data[4 * i + 1]!, data[4 * i + 2]!)) continue;
    area += alpha;
    columns[i % width] = Math.max(columns[i % width]!, alpha);
    rows[Math.floor(i / width)] = Math.max(rows[Math.floor(i / width)]!, alpha);
  }
  const sum = (a: Float64Array): number => a.reduce((s, v) => s + v, 0);
  return { area, width: sum(columns), height: sum(rows) };
}
const anything = (): boolean => true;
/** Cividis is nowhere near grey except at its middle; plain faces are warm grey with r > g > b by a little. */
const coloured = (r: number, _g: number, b: number): boolean => Math.abs(r - b) > 40 || b - r > 15;

describe('pose pictures', () => {
  test('keep the proportions of a box seen from the front', () => {
    const seen = coverage(picture(box(40, 30, 80), { ...BARE, azimuthDeg: 0, elevationDeg: 0 }), anything);
    // 200 px for 80 mm: 2.5 px/mm; an edge may miss by half a sample on either side.
    expect(Math.abs(seen.height - 200)).toBeLessThanOrEqual(1);
    expect(Math.abs(seen.width - 100)).toBeLessThanOrEqual(1);
    expect(Math.abs(seen.area / (200 * 100) - 1)).toBeLessThan(0.02);
  });

  test('colour exactly half of a ball seen from straight below: beyond 45° lies within r/√2 of its middle', () => {
    const shot = picture(ball(10, 256), { ...BARE, azimuthDeg: 0, elevationDeg: -90, overhangFromVerticalDeg: 45 });
    const whole = coverage(shot, anything);
    const over = coverage(shot, coloured);
    // The lowest facets lie on the plate, and the ramp passes through grey near its middle: the width tells the limit.
    expect(Math.abs(over.width / whole.width - Math.SQRT1_2)).toBeLessThan(0.02);
    expect(Math.abs(whole.area / ((Math.PI / 4) * 200 * 200) - 1)).toBeLessThan(0.02);
  });

  test('show a level ceiling in the last colour of the ramp and what lies on the plate in none', () => {
    const shot = picture(mushroom(10, 20, 30, 5, 128), { ...BARE, azimuthDeg: 0, elevationDeg: -90 });
    const middle = 4 * (105 * 210 + 105);
    const [r, g, b] = [shot.data[middle]!, shot.data[middle + 1]!, shot.data[middle + 2]!];
    expect(coloured(r, g, b)).toBe(false);
    const rim = 4 * (105 * 210 + 105 + 75); // 15 of 20 mm out, at 5 px/mm
    const [yr, yg, yb] = cividis(1);
    const level = shot.data[rim]! / yr;
    expect(level).toBeGreaterThan(0.75);
    expect(Math.abs(shot.data[rim + 1]! / yg - level)).toBeLessThan(0.03);
    expect(Math.abs(shot.data[rim + 2]! / yb - level)).toBeLessThan(0.05);
  });

  test('are the same bytes for the same mesh', () => {
    expect(posePng(mushroom(10, 20, 30, 5))).toEqual(posePng(mushroom(10, 20, 30, 5)));
  });

  test('smooth their edges', () => {
    const { data } = picture(ball(10, 64), { ...BARE, azimuthDeg: 0, elevationDeg: 0 });
    const alphas = new Set<number>();
    for (let i = 3; i < data.length; i += 4) alphas.add(data[i]!);
    expect(alphas.has(64) && alphas.has(128) && alphas.has(191)).toBe(true);
  });
});

describe('cividis', () => {
  test('rises evenly in lightness from end to end (CIE L*, as the published ramp promises)', () => {
    const lightness = (t: number): number => {
      const [r, g, b] = cividis(t).map((c) =>
        c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4,
      );
      const y = 0.2126 * r! + 0.7152 * g! + 0.0722 * b!;
      return 116 * Math.cbrt(y) - 16;
    };
    const steps = Array.from({ length: 30 }, (_, i) => lightness((i + 1) / 30) - lightness(i / 30));
    expect(Math.min(...steps)).toBeGreaterThan(1.5);
    expect(Math.max(...steps)).toBeLessThan(4);
    expect(cividis(0)).toEqual([0, 34, 78]); // (0, 0.135112, 0.304751) of the published table
    expect(cividis(1)).toEqual([254, 232, 56]); // (0.995737, 0.909344, 0.217772)
  });
});

describe('GLB', () => {
  const mesh = mushroom(10, 20, 30, 5, 48);

  test('is a binary glTF 2.0 container: magic, version, length, chunks padded to four bytes', async () => {
    const bytes = await partGlb(mesh);
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
    expect(view.getUint32(0, true)).toBe(0x46546c67);
    expect(view.getUint32(4, true)).toBe(2);
    expect(view.getUint32(8, true)).toBe(bytes.byteLength);
    const json = view.getUint32(12, true);
    expect(view.getUint32(16, true)).toBe(0x4e4f534a);
    expect(json % 4).toBe(0);
    expect(view.getUint32(20 + json + 4, true)).toBe(0x004e4942);
  });

  test('turns z up in mm to y up in metres and keeps volume and outside', async () => {
    const doc = await new WebIO().readBinary(await partGlb(mesh));
    const primitive = doc.getRoot().listMeshes()[0]!.listPrimitives()[0]!;
    const positions = Float64Array.from(primitive.getAttribute('POSITION')!.getArray()!);
    const back: Mesh = {
      positions,
      triangles: Uint32Array.from(primitive.getIndices()!.getArray()!),
      originMm: [0, 0, 0],
    };
    const [x, y, z] = sizeOf(mesh);
    const size = sizeOf(back);
    [x, z, y].forEach((mm, i) => {
      expect(size[i]! * 1000).toBeCloseTo(mm, 4);
    });
    expect((volumeOf(back) * 1e9) / volumeOf(mesh)).toBeCloseTo(1, 6);
  });

  test('carries the overhang as linear vertex colours: the ceiling at 90° has the ramp’s last colour', async () => {
    const doc = await new WebIO().readBinary(await partGlb(mesh));
    const primitive = doc.getRoot().listMeshes()[0]!.listPrimitives()[0]!;
    const colour = primitive.getAttribute('COLOR_0')!;
    expect(colour.getNormalized()).toBe(true);
    const position = primitive.getAttribute('POSITION')!;
    const linear = (c: number): number => ((c / 255 + 0.055) / 1.055) ** 2.4;
    const want = cividis(1).map(linear);
    let ceiling = 0;
    for (let i = 0; i < position.getCount(); i++) {
      const rgba = colour.getElement(i, []);
      if (Math.abs(rgba[0]! - want[0]!) < 1e-3 && Math.abs(rgba[2]! - want[2]!) < 1e-3) {
        expect(position.getElement(i, [])[1]! * 1000).toBeCloseTo(30, 4); // all on the underside of the cap
        ceiling++;
      }
    }
    expect(ceiling).toBe(96); // inner and outer edge of the ring, 48 sides
  });

  test('of nothing is refused', async () => {
    const empty: Mesh = { positions: new Float64Array(0), triangles: new Uint32Array(0), originMm: [0, 0, 0] };
    await expect(partGlb(empty)).rejects.toMatchObject({ code: 'MESH_EMPTY' });
  });
});

import { gzipSync } from 'node:zlib';
import {
  bytesSource,
  readingOf,
  readMesh,
  transformMesh,
  turnInsideOut,
  unitToMm,
  weld,
  writeStl,
} from '@stonehand/mesh';
import type { Finding, Mesh, Reading } from '@stonehand/model';
import { describe, expect, test } from 'vitest';
import { boxOf } from './shapes.ts';

describe('readings', () => {
  test('a sound box has no findings and is graded sound', () => {
    const reading = read(boxOf(10, 20, 30));
    expect(reading.grade).toBe('sound');
    expect(reading.findings).toEqual([]);
    expect(reading).toMatchObject({ triangles: 12, vertices: 8, closed: true, components: 1, euler: 2 });
    expect(reading.volumeMm3).toBeCloseTo(6000, 9);
  });

  test('a file in inches is measured in mm: 25.4, 25.4² and 25.4³ as large', () => {
    const inch = read(boxOf(1, 1, 1), 'inch');
    expect(inch.volumeMm3).toBeCloseTo(16387.064, 9); // a cubic inch by definition
    expect(inch.areaMm2).toBeCloseTo(6 * 645.16, 9);
    expect(inch.boxMm.max).toEqual([25.4, 25.4, 25.4]);
    expect(inch.inertiaMm5![0]).toBeCloseTo((16387.064 * 2 * 645.16) / 12, 6);
  });

  test('a missing triangle is a hole at its edge: no volume is given, and the reading is not trusted', () => {
    const box = boxOf(10, 20, 30);
    const reading = read({ ...box, triangles: box.triangles.subarray(3) });
    expect(reading.grade).toBe('untrusted');
    expect(reading.volumeMm3).toBeUndefined();
    expect(reading.centreMm).toBeUndefined();
    const holes = only(reading, 'holes');
    expect(holes).toMatchObject({ severity: 'stop', count: 3, spoils: ['volumeMm3', 'centreMm', 'inertiaMm5'] });
    // The middle of an edge of the box or of one of its diagonals: every coordinate is an end or a middle.
    holes.atMm!.forEach((x, i) => {
      expect([0, 0.5, 1]).toContain(x / [10, 20, 30][i]!);
    });
  });

  test('one triangle turned over is inconsistent facing, three edges of it', () => {
    const box = boxOf(10, 10, 10);
    const triangles = box.triangles.slice();
    [triangles[1], triangles[2]] = [triangles[2]!, triangles[1]!];
    const reading = read({ ...box, triangles });
    expect(only(reading, 'facing')).toMatchObject({ severity: 'stop', count: 3 });
    expect(reading).toMatchObject({ closed: true, volumeDefined: false, orientationConsistent: false });
  });

  test('a body wholly inside out is measured as if turned back, and says so', () => {
    const right = read(boxOf(8, 9, 10));
    const wrong = read(turnInsideOut(boxOf(8, 9, 10)));
    expect(only(wrong, 'insideOut').severity).toBe('doubt');
    expect(wrong.grade).toBe('doubtful');
    expect(wrong.volumeMm3).toBeCloseTo(right.volumeMm3!, 9);
    expect(wrong.inertiaMm5![0]).toBeCloseTo(right.inertiaMm5![0], 6);
  });

  test('a doubled triangle is told with the area it spoils', () => {
    const box = boxOf(10, 10, 10);
    const reading = read({ ...box, triangles: Uint32Array.of(...box.triangles, ...box.triangles.subarray(0, 3)) });
    expect(only(reading, 'duplicates')).toMatchObject({ count: 1, spoils: ['areaMm2'] });
    expect(only(reading, 'sharedEdges').severity).toBe('stop'); // the third triangle leaves its edges unbalanced
  });

  test('a box of 0.02 units and one of 5000 are doubted for their unit', () => {
    expect(only(read(boxOf(0.02, 0.02, 0.02)), 'oddSize').says).toContain('if metres');
    expect(only(read(boxOf(5000, 10, 10)), 'oddSize').severity).toBe('doubt');
    expect(codes(read(boxOf(0.02, 0.02, 0.02), 'm'))).not.toContain('oddSize');
  });

  test('a box 200 m away in single precision has lost 0.016 mm; 1 m away it is only noted', () => {
    const single = (offset: number): Mesh => {
      const box = transformMesh(boxOf(10, 10, 10), [1, 0, 0, offset, 0, 1, 0, 0, 0, 0, 1, 0]);
      return { ...box, positions: Float32Array.from(box.positions) };
    };
    const far = only(read(single(200_000)), 'farFromOrigin');
    expect(far.severity).toBe('doubt');
    expect(far.says).toContain('0.016 mm'); // 2^17 ≤ 200 000 < 2^18, so the spacing is 2^(17−23)
    expect(only(read(single(1000)), 'farFromOrigin').severity).toBe('note');
  });

  test('two boxes side by side are two bodies and still sound', () => {
    const a = boxOf(10, 10, 10);
    const b = transformMesh(a, [1, 0, 0, 20, 0, 1, 0, 0, 0, 0, 1, 0]);
    const soup = [a, b].flatMap((m) => [...m.triangles].flatMap((v) => [...m.positions.subarray(3 * v, 3 * v + 3)]));
    const reading = read(weld(Float64Array.from(soup)));
    expect(codes(reading)).toEqual(['bodies']);
    expect(reading.grade).toBe('sound');
  });
});

describe('files', () => {
  test('a gzip of an STL is read like the STL', async () => {
    const bytes = writeStl(boxOf(10, 20, 30), 'box');
    const plain = await readMesh(bytesSource('box.stl', bytes));
    expect(await readMesh(bytesSource('box.stl.gz', gzipSync(bytes)))).toEqual(plain);
  });

  test('a damaged gzip, an empty file and a photograph are each refused in one line', async () => {
    const bytes = gzipSync(writeStl(boxOf(10, 20, 30), 'box'));
    await expect(readMesh(bytesSource('a.stl.gz', bytes.subarray(0, 60)))).rejects.toThrow(
      /a\.stl\.gz: the gzip data is damaged/,
    );
    await expect(readMesh(bytesSource('a.stl', new Uint8Array(0)))).rejects.toThrow(/holds no triangle/);
    const png = Uint8Array.of(0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a, ...new Uint8Array(200));
    await expect(readMesh(bytesSource('a.png', png))).rejects.toMatchObject({ code: 'FORMAT_UNKNOWN' });
  });

  test('units of 3MF and their short forms; others are refused with a guess', () => {
    expect(
      ['micron', 'millimeter', 'centimeter', 'inch', 'foot', 'meter', 'mm', 'cm', 'm', 'in', 'ft'].map(unitToMm),
    ).toEqual([0.001, 1, 10, 25.4, 304.8, 1000, 1, 10, 1000, 25.4, 304.8]);
    expect(() => unitToMm('milimeter')).toThrow(/did you mean millimeter/);
  });
});

function read(mesh: Mesh, unit = 'mm'): Reading {
  return readingOf('a.stl', { format: 'STL binary', names: [], mesh, notes: [] }, { unit, unitFrom: 'stated' });
}

function codes(reading: Reading): string[] {
  return reading.findings.map((finding) => finding.code);
}

function only(reading: Reading, code: string): Finding {
  const found = reading.findings.filter((finding) => finding.code === code);
  expect(found, `${code} among ${codes(reading).join(', ')}`).toHaveLength(1);
  return found[0]!;
}

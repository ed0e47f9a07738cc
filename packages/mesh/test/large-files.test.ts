import { type ByteSource, massProperties, readMesh } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';

// Files of more than 2 and 4 GiB, of which only a few stretches hold anything: what is between them is zero and must not
// even be read. No such file is written.

const GIB = 2 ** 30;

function sparse(
  name: string,
  sizeBytes: number,
  stretches: ReadonlyMap<number, Uint8Array>,
): ByteSource & { given(): number } {
  let bytes = 0;
  return {
    name,
    sizeBytes,
    given: () => bytes,
    read(into, at) {
      const n = Math.max(0, Math.min(into.length, sizeBytes - at));
      into.fill(0, 0, n);
      for (const [from, stretch] of stretches) {
        const first = Math.max(from, at);
        const end = Math.min(from + stretch.length, at + n);
        if (first < end) into.set(stretch.subarray(first - from, end - from), first - at);
      }
      bytes += n;
      return n;
    },
  };
}

const text = (t: string): Uint8Array => new TextEncoder().encode(t);

describe('files over 2 GiB', () => {
  for (const gap of [2.5 * GIB, 3.9 * GIB]) {
    test(`binary PLY whose vertices lie behind ${gap / GIB} GiB of something else`, async () => {
      const head = text(
        'ply\nformat binary_little_endian 1.0\nelement scan 1\nproperty list uint uchar raw\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\nelement face 4\nproperty list uchar uint vertex_indices\nend_header\n',
      );
      const count = new Uint8Array(4);
      new DataView(count.buffer).setUint32(0, gap, true);
      const body = new Uint8Array(4 * 12 + 4 * 13);
      const view = new DataView(body.buffer);
      for (const k of [3, 7, 11]) view.setFloat32(4 * k, 1, true); // (0,0,0) (1,0,0) (0,1,0) (0,0,1)
      const faces = [0, 2, 1, 0, 1, 3, 0, 3, 2, 1, 2, 3];
      for (let f = 0; f < 4; f++) {
        body[48 + 13 * f] = 3;
        for (let k = 0; k < 3; k++) view.setUint32(48 + 13 * f + 1 + 4 * k, faces[3 * f + k]!, true);
      }
      const bodyAt = head.length + 4 + Math.floor(gap);
      const source = sparse(
        'a.ply',
        bodyAt + body.length,
        new Map([
          [0, head],
          [head.length, count],
          [bodyAt, body],
        ]),
      );
      const { mesh } = await readMesh(source);
      expect(massProperties(mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
      expect(source.given()).toBeLessThan(2e6);
    });
  }

  test('a ZIP archive of 5 GiB (ZIP64) whose mesh comes first and whose list comes last', async () => {
    const obj = text('v 0 0 0\nv 1 0 0\nv 0 1 0\nv 0 0 1\nf 1 3 2\nf 1 2 4\nf 1 4 3\nf 2 3 4\n');
    const { stretches, sizeBytes } = storedZip64('foot.obj', obj, 5 * GIB);
    const source = sparse('a.zip', sizeBytes, stretches);
    const { mesh, format } = await readMesh(source);
    expect(format).toBe('OBJ');
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(1 / 6, 15);
    expect(source.given()).toBeLessThan(2e6);
  });

  test('a text of 2.5 GiB reports its size before memory is asked for whole', async () => {
    const start = text('{"asset":{"version":"2.0"}}');
    const source = sparse('a.gltf', 2.5 * GIB, new Map([[0, start]]));
    await expect(readMesh(source)).rejects.toMatchObject({ code: 'MESH_TOO_LARGE' });
    expect(source.given()).toBeLessThan(2e6);
  });

  test('a binary STL of 13 GB promises 268 million triangles: refused with the number', async () => {
    const count = 2 ** 28 + 1;
    const head = new Uint8Array(84);
    new DataView(head.buffer).setUint32(80, count, true);
    const source = sparse('a.stl', 84 + 50 * count, new Map([[0, head]]));
    await expect(readMesh(source)).rejects.toThrow(/268435457 triangles are more than the 268435456/);
  });
});

/** Two stored entries (the mesh, then `gap` zero bytes) with ZIP64 records, as APPNOTE 6.3.10 §4.3.14 to 4.5.3 lays them out (from memory). */
function storedZip64(
  name: string,
  mesh: Uint8Array,
  gap: number,
): { stretches: Map<number, Uint8Array>; sizeBytes: number } {
  const names = [name, 'photo.raw'];
  const sizes = [mesh.length, gap];
  const crcs = [crc32(mesh), 0];
  const stretches = new Map<number, Uint8Array>();
  const offsets: number[] = [];
  const central: Uint8Array[] = [];
  let at = 0;
  names.forEach((entry, i) => {
    offsets.push(at);
    const big = sizes[i]! > 0xffffffff;
    const size32 = big ? 0xffffffff : sizes[i]!;
    const extra = big ? record([2, 1], [2, 16], [8, sizes[i]!], [8, sizes[i]!]) : new Uint8Array(0);
    const local = record(
      [4, 0x04034b50],
      [2, 45],
      [2, 0],
      [2, 0],
      [4, 0],
      [4, crcs[i]!],
      [4, size32],
      [4, size32],
      [2, entry.length],
      [2, extra.length],
    );
    stretches.set(at, joined(local, text(entry), extra));
    at += local.length + entry.length + extra.length;
    if (i === 0) stretches.set(at, mesh);
    at += sizes[i]!;
    central.push(
      joined(
        record(
          [4, 0x02014b50],
          [2, 45],
          [2, 45],
          [2, 0],
          [2, 0],
          [4, 0],
          [4, crcs[i]!],
          [4, size32],
          [4, size32],
          [2, entry.length],
          [2, extra.length],
          [2, 0],
          [2, 0],
          [2, 0],
          [4, 0],
          [4, offsets[i]!],
        ),
        text(entry),
        extra,
      ),
    );
  });
  const list = joined(...central);
  const end64 = record(
    [4, 0x06064b50],
    [8, 44],
    [2, 45],
    [2, 45],
    [4, 0],
    [4, 0],
    [8, 2],
    [8, 2],
    [8, list.length],
    [8, at],
  );
  const locator = record([4, 0x07064b50], [4, 0], [8, at + list.length], [4, 1]);
  const end = record(
    [4, 0x06054b50],
    [2, 0],
    [2, 0],
    [2, 0xffff],
    [2, 0xffff],
    [4, 0xffffffff],
    [4, 0xffffffff],
    [2, 0],
  );
  const tail = joined(list, end64, locator, end);
  stretches.set(at, tail);
  return { stretches, sizeBytes: at + tail.length };
}

/** Little-endian fields, each [bytes, value]. */
function record(...fields: readonly (readonly [2 | 4 | 8, number])[]): Uint8Array {
  const bytes = new Uint8Array(fields.reduce((sum, [size]) => sum + size, 0));
  const view = new DataView(bytes.buffer);
  let at = 0;
  for (const [size, value] of fields) {
    if (size === 2) view.setUint16(at, value, true);
    else if (size === 4) view.setUint32(at, value, true);
    else view.setBigUint64(at, BigInt(value), true);
    at += size;
  }
  return bytes;
}

function joined(...parts: readonly Uint8Array[]): Uint8Array {
  return Uint8Array.from(parts.flatMap((part) => [...part]));
}

function crc32(bytes: Uint8Array): number {
  let crc = -1;
  for (const byte of bytes) {
    crc ^= byte;
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (0xedb88320 & -(crc & 1));
  }
  return ~crc >>> 0;
}

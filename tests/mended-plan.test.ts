import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { openEngine, planWorkspace } from '@stonehand/engine';
import { massProperties, mergeMeshes, topology, transformMesh, writeStl } from '@stonehand/mesh';
import type { Mesh, Plan, Reading } from '@stonehand/model';
import { write3mf } from '@stonehand/report';
import { checkPlanJson, loadWorkspace } from '@stonehand/shop';
import { beforeAll, describe, expect, test } from 'vitest';
import { blockOf } from './helpers/messy-download.ts';
import { freshFolder, stonehand } from './helpers/stonehand.ts';

const whole = blockOf([40, 30, 12], 4);
const wholeMm3 = massProperties(whole).volumeMm3;

/** Without its last triangle, which closes a side. */
function opened(mesh: Mesh): Mesh {
  return { ...mesh, triangles: mesh.triangles.slice(0, -3) };
}

/** Two blocks that have a third of each in common. */
function overlapping(): Mesh {
  const block = blockOf([30, 30, 30], 6);
  return mergeMeshes([block, transformMesh(block, [1, 0, 0, 20, 0, 1, 0, 0, 0, 0, 1, 0])]);
}

/** Two blocks that share an upright edge, as the halves of a joined model often do: sound, though four triangles meet there. */
function touching(): Mesh {
  const block = blockOf([10, 10, 10], 2);
  return mergeMeshes([block, transformMesh(block, [-1, 0, 0, 0, 0, -1, 0, 0, 0, 0, 1, 0])]);
}

function writeWorkspace(parts: string, meshes: Readonly<Record<string, Uint8Array>>, main = ''): string {
  const root = freshFolder('mend');
  mkdirSync(join(root, 'shop'));
  const files = {
    'stonehand.yaml': `name: Mending\ntimeZone: UTC\nassemblies: ['.']\n${main}`,
    'assembly.yaml': `parts:\n${parts}`,
    'shop/printers.yaml': 'bed:\n  volume: 220x220x250\n  motion: plain\n',
    'shop/materials.yaml': 'pla:\n  kind: PLA\n  colour: white\n',
    'shop/recipes.yaml': 'standard:\n  layer: 0.3\n',
    'shop/hours.yaml': 'otherwise: present\n',
    ...meshes,
  };
  for (const [name, content] of Object.entries(files)) writeFileSync(join(root, name), content);
  return root;
}

/** In this process and with the shortest searches: the meshes are what is looked at. */
async function planOf(root: string): Promise<Plan> {
  const engine = openEngine({ cacheFolder: join(root, '.stonehand') });
  const { plan } = await planWorkspace(engine, await loadWorkspace(root), { from: '2026-06-05T18:00:00Z', rounds: 1 });
  await engine.close();
  return JSON.parse(JSON.stringify(plan));
}

const readingOf = (plan: Plan, partId: string): Reading => plan.readings.find((reading) => reading.partId === partId)!;
const findingOf = (reading: Reading, code: string) => reading.findings.find((finding) => finding.code === code);

describe('mending before planning', () => {
  const parts = [
    '  as-it-is:\n    mesh: open.stl',
    '  mended:\n    mesh: open.stl\n    mend: true',
    '  sound:\n    mesh: whole.stl\n    mend: true',
    '  pair:\n    mesh: pair.stl\n    mend: true',
    '  touching:\n    mesh: touching.stl',
  ].join('\n');
  let root: string;
  let plan: Plan;
  beforeAll(async () => {
    root = writeWorkspace(`${parts}\n`, {
      'open.stl': writeStl(opened(whole), 'open'),
      'whole.stl': writeStl(whole, 'whole'),
      'pair.stl': writeStl(overlapping(), 'pair'),
      'touching.stl': writeStl(touching(), 'touching'),
    });
    plan = await planOf(root);
  }, 60_000);

  test('a part that may be mended is planned closed, with the volume of the whole, and a finding that says what was done', () => {
    const reading = readingOf(plan, 'mended');
    expect(reading).toMatchObject({ closed: true, boundaryEdges: 0, grade: 'doubtful', file: 'open.stl' });
    // Single precision of the file.
    expect(Math.abs(reading.volumeMm3! / wholeMm3 - 1)).toBeLessThan(1e-6);
    expect(findingOf(reading, 'mended')!.says).toBe('Mended before planning: 1 hole closed with 1 triangle.');
  });

  test('one that may not is planned as it is, and says how it may be mended', () => {
    const reading = readingOf(plan, 'as-it-is');
    expect(reading).toMatchObject({ closed: false, grade: 'untrusted' });
    expect(findingOf(reading, 'holes')!.remedy).toContain('"mend: true" at the part');
    expect(findingOf(reading, 'mended')).toBeUndefined();
  });

  test('a sound part that may be mended is not touched: the same mesh to the bit, and nothing said', () => {
    const reading = readingOf(plan, 'sound');
    expect(reading.findings).toEqual([]);
    expect(reading.mended).toBeUndefined();
    const [measured] = JSON.parse(stonehand(['measure', join(root, 'whole.stl'), '--json']).out) as Reading[];
    expect(reading.meshHash).toBe(measured!.meshHash);
  });

  test('overlapping bodies are united: what they have in common counts once', () => {
    const reading = readingOf(plan, 'pair');
    const block = blockOf([30, 30, 30], 6);
    expect(reading.components).toBe(1);
    expect(reading.volumeMm3!).toBeLessThan(2 * massProperties(block).volumeMm3 - 1000);
    const { volumeMm3, slicesMm3 } = reading.mended!;
    // The slices of both bodies as they were, counted once: the figure that owes nothing to the union.
    expect(Math.abs(volumeMm3! / slicesMm3! - 1)).toBeLessThan(0.002);
    expect(findingOf(reading, 'mended')!.says).toContain('2 bodies were united into 1');
  });

  test('one that may not waits, and the others are written as a 3MF', () => {
    expect(plan.waiting.map(({ copyId }) => copyId)).toEqual(['as-it-is#1']);
    expect(plan.waiting[0]!.reason).toContain('its mesh is not closed: 3 edges have a triangle on one side only');
    expect(plan.waiting[0]!.reason).toContain('Write "mend: true" at the part');
    expect(plan.pieces.map(({ partId }) => partId)).toEqual(['mended', 'sound', 'pair', 'touching']);
    const out = freshFolder('plates');
    stonehand(['plan', root, '--from', '2026-06-05 18:00', '--out', out]);
    const models = readdirSync(join(out, 'plates')).filter((name) => name.endsWith('.build.3mf'));
    expect(models.length).toBe(1);
  });

  test('plan, fit and check tell it in words, and the plan keeps its schema', () => {
    expect(checkPlanJson(plan).name).toBe('Mending');
    const plain = stonehand(['plan', root, '--from', '2026-06-05 18:00', '--out', join(root, 'out')]);
    expect(plain.code).toBe(1);
    for (const text of [plain.out, stonehand(['fit', root]).out, stonehand(['check', root]).out]) {
      expect(text).toContain('mended: Mended before planning: 1 hole closed with 1 triangle.');
      expect(text.replace(/\s+/g, ' ')).toContain('Or let it be mended: "mend: true" at the part');
    }
    expect(readFileSync(join(root, 'out/page.html'), 'utf8')).toContain('1 hole closed with 1 triangle');
  });
});

test('the volume of the mended surface and that of its slices are both shown where they differ by more than 1 %', async () => {
  // Two blocks that overlap and are joined by a short tube are one body that goes through itself: no union can be asked of it.
  const block = blockOf([30, 30, 30], 6);
  const pair = mergeMeshes([block, transformMesh(block, [1, 0, 0, 10, 0, 1, 0, 0, 0, 0, 1, 0])]);
  const joined = bridged(pair);
  expect(topology(joined).components).toBe(1);
  const root = writeWorkspace('  tangle:\n    mesh: tangle.stl\n    mend: true\n', {
    'tangle.stl': writeStl(opened(joined), 'tangle'),
  });
  const reading = readingOf(await planOf(root), 'tangle');
  const { volumeMm3, slicesMm3 } = reading.mended!;
  expect(volumeMm3! / slicesMm3!).toBeGreaterThan(1.3);
  const { says, spoils } = findingOf(reading, 'mended')!;
  expect(says).toContain(`encloses ${(volumeMm3! / 1000).toPrecision(4)} cm³`);
  expect(says).toContain(`add up to ${(slicesMm3! / 1000).toPrecision(4)} cm³`);
  expect(spoils).toContain('volumeMm3');
});

/** The first triangle of each of two equal bodies taken out and their rims joined by six triangles: one body. */
function bridged(mesh: Mesh): Mesh {
  const half = mesh.triangles.length / 2;
  const [a, b, c] = mesh.triangles;
  const [d, e, f] = mesh.triangles.subarray(half);
  const tube = [a!, b!, e!, a!, e!, d!, b!, c!, f!, b!, f!, e!, c!, a!, d!, c!, d!, f!];
  const rest = [...mesh.triangles.subarray(3, half), ...mesh.triangles.subarray(half + 3)];
  return { ...mesh, triangles: Uint32Array.from([...rest, ...tube]) };
}

describe('a part that the workspace rescales or mirrors', () => {
  let plan: Plan;
  beforeAll(async () => {
    const root = writeWorkspace(
      '  small:\n    mesh: ring.stl\n    scale: 0.9\n  other-hand:\n    mesh: ring.stl\n    mirror: y\n',
      { 'ring.stl': writeStl(ringOf(10, 24, 6, 64), 'ring') },
    );
    plan = await planOf(root);
  }, 60_000);

  test('the finding states the factor, and what it does to each bore', () => {
    const reading = readingOf(plan, 'small');
    // Across the flats of a bore drawn with 64 facets inside a circle of 20 mm.
    const flatsMm = 20 * Math.cos(Math.PI / 64);
    expect(findingOf(reading, 'rescaled')!.says).toContain(
      `Rescaled by 0.9 in the workspace: bores, gaps and walls shrink with it`,
    );
    expect(findingOf(reading, 'rescaled')!.says).toContain(
      `${flatsMm.toFixed(2)} mm becomes ${(0.9 * flatsMm).toFixed(2)} mm`,
    );
  });

  test('its figures are those of the part as it is printed', () => {
    const full = massProperties(ringOf(10, 24, 6, 64)).volumeMm3;
    expect(Math.abs(readingOf(plan, 'small').volumeMm3! / (full * 0.9 ** 3) - 1)).toBeLessThan(1e-6);
    expect(Math.abs(readingOf(plan, 'other-hand').volumeMm3! / full - 1)).toBeLessThan(1e-6);
  });

  test('a mirrored one keeps its bores, and is no doubt', () => {
    const reading = readingOf(plan, 'other-hand');
    expect(findingOf(reading, 'mirrored')!.says).toContain('Mirrored along y in the workspace: bores keep their size');
    expect(reading.grade).toBe('sound');
  });
});

/** A flat ring of facets; inner and outer radius, height. */
function ringOf(inner: number, outer: number, height: number, facets: number): Mesh {
  const positions: number[] = [];
  const triangles: number[] = [];
  for (let i = 0; i < facets; i++) {
    const angle = (2 * Math.PI * i) / facets;
    for (const [r, z] of [
      [inner, 0],
      [outer, 0],
      [outer, height],
      [inner, height],
    ] as const)
      positions.push(r * Math.cos(angle), r * Math.sin(angle), z);
    const j = (i + 1) % facets;
    for (let k = 0; k < 4; k++) {
      const [p, q, s, t] = [4 * i + k, 4 * i + ((k + 1) % 4), 4 * j + ((k + 1) % 4), 4 * j + k];
      triangles.push(p, s, q, p, t, s);
    }
  }
  const mesh = {
    positions: Float64Array.from(positions),
    triangles: Uint32Array.from(triangles),
    originMm: [0, 0, 0] as const,
  };
  return massProperties(mesh).volumeMm3 > 0 ? mesh : { ...mesh, triangles: mesh.triangles.toReversed() };
}

describe('a 3MF file that asks for several things', () => {
  const brick = blockOf([20, 30, 12], 5);
  const file = write3mf(
    [
      { name: 'cone', mesh: blockOf([15, 15, 25], 7) },
      { name: 'brick', mesh: brick },
    ],
    [
      { object: 1 },
      { object: 0, placement: [1, 0, 0, 60, 0, 1, 0, 0, 0, 0, 1, 0] },
      { object: 1, placement: [0, -1, 0, 120, 1, 0, 0, 0, 0, 0, 1, 0] },
      { object: 1, placement: [1, 0, 0, 160, 0, 1, 0, 0, 0, 0, 1, 0] },
    ],
    {},
  );

  test('is several parts in a new workspace, with the quantities of its build, and each is planned by itself', async () => {
    const folder = freshFolder('set');
    writeFileSync(join(folder, 'set.3mf'), file);
    writeFileSync(join(folder, 'spare brick.stl'), writeStl(brick, 'brick'));
    const { suspicions } = JSON.parse(stonehand(['init', folder, '--json']).out);
    expect(suspicions.map(({ kind, files }: { kind: string; files: string[] }) => [kind, ...files])).toEqual([
      ['duplicate', 'set.3mf > brick', 'spare brick.stl'],
    ]);
    const text = readFileSync(join(folder, 'assembly.yaml'), 'utf8');
    expect(text).toContain('  brick:\n    mesh: set.3mf\n    item: brick\n    quantity: 3\n');
    expect(text).toContain('  cone:\n    mesh: set.3mf\n    item: cone\n');
    const plan = await planOf(folder);
    expect(plan.parts.map(({ id, quantity }) => [id, quantity])).toEqual([
      ['brick', 3],
      ['cone', 1],
      ['spare-brick', 1],
    ]);
    expect(Math.abs(readingOf(plan, 'brick').volumeMm3! / massProperties(brick).volumeMm3 - 1)).toBeLessThan(1e-6);
    expect(plan.plates.flatMap(({ placed }) => placed).length).toBe(5);
  });

  test('a wrong item is named with those that there are; none at all is told to be taken as one part', async () => {
    const root = writeWorkspace(
      '  all:\n    mesh: set.3mf\n  brick:\n    mesh: set.3mf\n    item: 1\n  lost:\n    mesh: set.3mf\n    item: beak\n',
      { 'set.3mf': file },
    );
    const plan = await planOf(root);
    expect(plan.waiting).toEqual([{ copyId: 'lost#1', reason: 'set.3mf: no item "beak" is to be built' }]);
    expect(findingOf(readingOf(plan, 'all'), 'severalItems')!.says).toContain('(3 × brick, cone)');
    expect(readingOf(plan, 'brick').triangles).toBe(brick.triangles.length / 3);
  });

  test('measure has a row for the file and one for each thing in it', () => {
    const folder = freshFolder('set');
    writeFileSync(join(folder, 'set.3mf'), file);
    const [row, ...more] = JSON.parse(stonehand(['measure', join(folder, 'set.3mf'), '--json']).out) as Reading[];
    expect(more).toEqual([]);
    expect(row!.items!.map(({ item, quantity }) => [item, quantity])).toEqual([
      ['brick', 3],
      ['cone', 1],
    ]);
    const sum = row!.items!.reduce(
      (total, { quantity, reading }) => total + quantity * (reading as Reading).volumeMm3!,
      0,
    );
    expect(Math.abs(sum / row!.volumeMm3! - 1)).toBeLessThan(1e-9);
    const text = stonehand(['measure', join(folder, 'set.3mf')]).out;
    expect(text).toMatch(/set\.3mf +4 items/);
    expect(text).toMatch(/· 3 × brick +sound/);
  });

  test('without a workspace each thing is a part as well', () => {
    const folder = freshFolder('bare');
    writeFileSync(join(folder, 'set.3mf'), file);
    const rows = JSON.parse(stonehand(['fit', folder, '--bed', '100x100x100', '--json']).out);
    expect(rows.map(({ partId }: { partId: string }) => partId)).toEqual(['set/brick', 'set/cone']);
  });
});

test('a question that is settled in stonehand.yaml is not asked again, another one is', () => {
  const block = blockOf([30, 20, 10], 3);
  const mirrored = writeStl(transformMesh(block, [-1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0]), 'arm');
  const meshes = { 'arm.stl': writeStl(block, 'arm'), 'hand.stl': mirrored, 'parts.txt': list('hook\n- claw\n') };
  const parts = '  arm:\n    mesh: arm.stl\n  hand:\n    mesh: hand.stl\n';
  const asked = (main: string): string[] => {
    const { suspicions } = JSON.parse(stonehand(['check', writeWorkspace(parts, meshes, main), '--json']).out);
    return suspicions.map(({ kind, part }: { kind: string; part?: string }) =>
      part === undefined ? kind : `${kind} ${part}`,
    );
  };
  expect(asked('')).toEqual(['mirrorPair', 'missing hook', 'missing claw']);
  const settled = [
    'settled:',
    '  - { what: mirrorPair, files: [hand.stl, arm.stl], why: left and right }',
    '  - { what: missing, files: [parts.txt], part: claw }',
    '  - { what: duplicate, files: [hand.stl, arm.stl] }',
    '',
  ];
  expect(asked(settled.join('\n'))).toEqual(['missing hook']);
  const text = stonehand(['check', writeWorkspace(parts, meshes, settled.join('\n'))]).out;
  expect(text).toContain('2 settled in stonehand.yaml are not asked again');
  expect(text).toContain('- { what: missing, files: ["parts.txt"], part: "hook" }');
  const wrong = stonehand(['check', writeWorkspace(parts, meshes, 'settled:\n  - { what: mirror, files: [a] }\n')]);
  expect(wrong.code).toBe(2);
});

function list(items: string): Uint8Array {
  return new TextEncoder().encode(`Printed parts:\n- ${items}`);
}

import type {
  ByKind,
  Estimate,
  Figure,
  MassReport,
  Material,
  Mesh,
  PartSummary,
  Piece,
  Placed,
  Plan,
  Plate,
  Printer,
  Reading,
  Recipe,
  Ring,
  Run,
  Todo,
} from '@stonehand/model';
import { ball, box, dome, ellipse, grounded, lathe, mushroom, rectangle, sizeOf, tube, turned } from './shapes.ts';

// A plan as the engine would hand it over, for a made-up workspace (a walking heron puppet). Numbers are invented but fit together.

const HOUR = 3600;
const FROM = Date.parse('2026-06-05T18:00:00+02:00');
export const at = (hours: number): string => {
  const local = new Date(FROM + hours * HOUR * 1000 + 2 * HOUR * 1000).toISOString().slice(0, 19);
  return `${local}+02:00`;
};

const speeds = (v: number): ByKind => ({
  outerPerimeter: v * 0.6,
  innerPerimeter: v,
  solid: v,
  bridge: 30,
  infill: v * 1.2,
  support: v,
  contact: 30,
  brim: 40,
  purge: 40,
  travel: 2 * v,
});
const square = (w: number, d: number, m: number): Ring => [
  [m, m],
  [w - m, m],
  [w - m, d - m],
  [m, d - m],
];

function printer(id: string, w: number, d: number, h: number, more: Partial<Printer>): Printer {
  return {
    id,
    plate: square(w, d, 0),
    usable: square(w, d, 5),
    keepOut: [],
    plateSizeMm: [w, d],
    marginMm: 5,
    heightMm: h,
    nozzleMm: 0.4,
    nozzleMaxC: 260,
    plateMaxC: 110,
    has: [],
    speedMmS: speeds(80),
    accelMmS2: speeds(1500),
    firstLayerMmS: 25,
    cornerSpeedMmS: 8,
    flowMm3S: 12,
    pullBackS: 0.3,
    layerChangeS: 0.5,
    warmUpS: 360,
    coolDownS: 600,
    changeS: 300,
    unattended: false,
    longestRunS: 20 * HOUR,
    failPerStart: 0.03,
    failPerHour: 0.005,
    ...more,
  };
}

const material = (id: string, kind: string, colour: string, density: number): Material => ({
  id,
  name: `${kind} ${colour}`,
  kind,
  colour,
  densityGPerCm3: density,
  diameterMm: 1.75,
  nozzleC: 240,
  plateC: 95,
  shrinkShare: 0.006,
  flowMm3S: 11,
  pricePerKg: 24,
  spoolG: 1000,
  dryS: 4 * HOUR,
  needs: kind === 'TPU' ? ['slowFeed'] : [],
  joins: [],
});
const recipe = (id: string, more: Partial<Recipe>): Recipe => ({
  id,
  layerMm: 0.2,
  firstLayerMm: 0.2,
  beadWidthMm: 0.45,
  perimeters: 2,
  roofLayers: 4,
  floorLayers: 4,
  infillShare: 0.15,
  infillPattern: 'gyroid',
  overhangFromVerticalDeg: 45,
  bridgeMm: 8,
  support: 'auto',
  supportShare: 0.15,
  brimMm: 0,
  leastLayerS: 8,
  ...more,
});

type PartSpecRow = readonly [
  id: string,
  name: string,
  quantity: number,
  materialId: string,
  recipeId: string,
  massG: number,
  hours: number,
  mesh: () => Mesh,
  footprint: (w: number, d: number) => Ring[],
  reason: string,
];

const R = (w: number, d: number): Ring[] => rectangle(w, d);
const E = (w: number, d: number): Ring[] => ellipse(w, d);
const O = (w: number, d: number): Ring[] => ellipse(w, d, 48, 0.62);
const lying: readonly number[] = [0, 0, 1, 0, 1, 0, -1, 0, 0];
const PARTS: readonly PartSpecRow[] = [
  [
    'heron/head/skull',
    'skull',
    1,
    'abs-white',
    'light-shell',
    152,
    7.2,
    () => dome(88, 132, 2.4, 96, 0.82),
    O,
    'rim down; only the brow needs support',
  ],
  [
    'heron/head/crown',
    'crown',
    1,
    'abs-white',
    'light-shell',
    48,
    2.4,
    () => dome(38, 58, 2.2, 64, 0.7),
    E,
    'flat side down, no support',
  ],
  [
    'heron/head/beak-upper',
    'upper beak',
    1,
    'abs-grey',
    'light-shell',
    66,
    3.9,
    () =>
      lathe(
        [
          [0, 0],
          [20, 0],
          [15, 90],
          [4, 205],
          [0, 210],
        ],
        48,
        { squash: 0.7, bend: (z) => (z / 60) ** 2 },
      ),
    E,
    'standing on the cut face: the ridge shows no steps',
  ],
  [
    'heron/head/beak-lower',
    'lower beak',
    1,
    'abs-grey',
    'light-shell',
    51,
    3.1,
    () =>
      lathe(
        [
          [0, 0],
          [17, 0],
          [13, 80],
          [3, 180],
          [0, 184],
        ],
        48,
        { squash: 0.6 },
      ),
    E,
    'standing on the cut face',
  ],
  [
    'heron/head/eye-bezel',
    'eye bezel',
    2,
    'abs-white',
    'light-shell',
    9,
    0.6,
    () => tube(25, 17, 9),
    O,
    'flat, glossy face down',
  ],
  [
    'heron/head/jaw-hinge',
    'jaw hinge',
    2,
    'petg-grey',
    'strong',
    11,
    0.7,
    () => tube(12, 4.1, 22, 48),
    O,
    'bore upright: round and strong across',
  ],
  [
    'heron/head/neck-yoke',
    'neck yoke',
    1,
    'petg-grey',
    'strong',
    58,
    3.4,
    () => mushroom(18, 41, 26, 16),
    E,
    'bearing seat up; the table needs support',
  ],
  [
    'heron/head/battery-tray',
    'battery tray',
    1,
    'petg-grey',
    'strong',
    37,
    2.0,
    () => box(92, 58, 24),
    R,
    'floor down',
  ],
  ['heron/neck/ring-a', 'vertebra ring a', 4, 'abs-white', 'light-shell', 21, 1.3, () => tube(42, 36, 18), O, 'flat'],
  ['heron/neck/ring-b', 'vertebra ring b', 4, 'abs-white', 'light-shell', 18, 1.1, () => tube(37, 31, 18), O, 'flat'],
  ['heron/neck/ring-c', 'vertebra ring c', 3, 'abs-white', 'light-shell', 16, 1.0, () => tube(33, 27, 18), O, 'flat'],
  [
    'heron/neck/tendon-guide',
    'tendon guide',
    12,
    'petg-grey',
    'strong',
    3,
    0.25,
    () => tube(7, 2.6, 14, 32),
    O,
    'bore upright',
  ],
  [
    'heron/body/back-shell',
    'back shell',
    1,
    'abs-white',
    'light-shell',
    412,
    21,
    () => dome(134, 141, 2.6, 96, 1),
    E,
    'rim down; cut across the ninth rib',
  ],
  [
    'heron/body/breast-shell',
    'breast shell',
    1,
    'abs-white',
    'light-shell',
    338,
    17.5,
    () => dome(120, 118, 2.6, 96, 0.9),
    E,
    'rim down',
  ],
  ['heron/body/rib', 'rib', 6, 'petg-grey', 'strong', 27, 1.4, () => tube(58, 51, 8), O, 'flat'],
  [
    'heron/body/harness-plate',
    'harness plate <load & belt>',
    1,
    'petg-grey',
    'strong',
    132,
    6.1,
    () => box(196, 148, 6),
    R,
    'flat',
  ],
  [
    'heron/body/tail-fan',
    'tail fan',
    2,
    'abs-grey',
    'light-shell',
    320,
    15.5,
    () => box(230, 190, 12),
    R,
    'flat; long edge on the diagonal',
  ],
  [
    'heron/legs/shin-left',
    'shin, left',
    1,
    'petg-grey',
    'strong',
    118,
    5.0,
    () => turned(tube(22, 18, 338, 48), lying),
    R,
    'lying: layers along the load',
  ],
  [
    'heron/legs/shin-right',
    'shin, right',
    1,
    'petg-grey',
    'strong',
    118,
    5.0,
    () => turned(tube(22, 18, 338, 48), lying),
    R,
    'lying: layers along the load',
  ],
  [
    'heron/legs/hinge-hub',
    'hinge hub',
    4,
    'petg-grey',
    'strong',
    24,
    1.3,
    () => mushroom(11, 19, 18, 8, 48),
    E,
    'flange up',
  ],
  [
    'heron/legs/hip-joint',
    'hip joint',
    2,
    'petg-grey',
    'strong',
    41,
    2.2,
    () => ball(23, 48),
    E,
    'ball down on a raft of support',
  ],
  ['heron/legs/foot-pad', 'foot pad', 6, 'tpu-white', 'pads', 23, 0.32, () => dome(36, 16, 6, 64, 0.8), E, 'flat'],
  ['heron/legs/toe', 'toe', 6, 'tpu-white', 'pads', 12, 0.12, () => dome(12, 44, 3, 48, 0.9), E, 'standing'],
  [
    'heron/legs/ankle-cover',
    'ankle cover',
    2,
    'abs-white',
    'light-shell',
    26,
    1.5,
    () => dome(30, 44, 2, 64, 0.9),
    E,
    'rim down',
  ],
  [
    'heron/body/wing-root',
    'wing root',
    2,
    'petg-grey',
    'strong',
    64,
    3.2,
    () => mushroom(24, 34, 40, 12),
    E,
    'pin down',
  ],
];

const figure = (value: number, down: number, up: number, from: string): Figure => ({
  value,
  low: value * (1 - down),
  high: value * (1 + up),
  from,
});
const massFigure = (g: number, from: string): Figure => figure(g, 0.08, 0.08, from);
const timeFigure = (h: number, from: string): Figure => figure(h * HOUR, 0.15, 0.3, from);

export const MESHES: ReadonlyMap<string, Mesh> = new Map(PARTS.map(([id, , , , , , , mesh]) => [id, grounded(mesh())]));

function pieceOf([id, , quantity, materialId, recipeId, , , , footprint, reason]: PartSpecRow): Piece {
  const size = sizeOf(MESHES.get(id)!);
  return {
    id,
    partId: id,
    meshHash: `hash-${id}`,
    quantity,
    materialId,
    recipeId,
    pose: {
      id: `${id}/pose`,
      rotation: [1, 0, 0, 0, 1, 0, 0, 0, 1],
      offsetMm: [0, 0, 0],
      sizeMm: size,
      heightMm: size[2],
      supportMm3: reason.includes('support') && !reason.includes('no support') ? 5200 : 0,
      scarMm2: 0,
      contactMm2: 900,
      overhangMm2: 0,
      tipDeg: Math.min(80, (Math.atan2(Math.min(size[0], size[1]), size[2]) * 180) / Math.PI),
      reason,
    },
    footprint: footprint(size[0], size[1]),
    partFromPiece: [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0],
    joints: [],
  };
}

/** 300 layers that widen, narrow and end small, adding up to so many hours. */
const LAYERS = (hours: number): number[] => {
  const shape = Array.from(
    { length: 300 },
    (_, i) => 0.15 + Math.sin((Math.PI * (i + 20)) / 330) ** 2 + (i % 40 < 4 ? 0.3 : 0),
  );
  const sum = shape.reduce((a, b) => a + b, 0);
  return shape.map((v) => (v / sum) * hours * HOUR);
};

function estimateOf([id, , , materialId, recipeId, massG, hours, , , reason]: PartSpecRow): Estimate {
  const from = `bead paths of ${id.split('/').at(-1)}, recipe ${recipeId}, ${materialId} on loft; priors until calibrated`;
  const supportG = reason.includes('support') && !reason.includes('no support') ? massG * 0.09 : 0;
  return {
    pieceId: id,
    printerId: 'loft',
    recipeId,
    materialId,
    mode: 'full',
    massG: massFigure(massG, from),
    durationS: timeFigure(hours, from),
    filamentMm: massG * 390,
    byKind: [
      { kind: 'outerPerimeter', volumeMm3: 1, massG: massG - supportG, durationS: 1, pathMm: 1 },
      { kind: 'support', volumeMm3: 1, massG: supportG, durationS: 1, pathMm: 1 },
    ],
    layerS: LAYERS(hours),
    layerG: LAYERS(massG / 3600),
    peakFlowMm3S: 9.2,
    centreMm: [0, 0, 0],
    inertiaGMm2: [1, 1, 1, 0, 0, 0],
    partG: massG - supportG,
  };
}

function readingOf([id]: PartSpecRow): Reading {
  const size = sizeOf(MESHES.get(id)!);
  const bad = id.endsWith('tail-fan');
  // Sizes as modelled: the long body shells are longer than the piece that is drawn here.
  const scale = id.endsWith('back-shell') ? 412 / size[0] : 1;
  return {
    file: `${id}.stl`,
    format: 'stl',
    meshHash: `hash-${id}`,
    unit: 'mm',
    unitFrom: 'assumed',
    triangles: 2000,
    vertices: 1000,
    volumeMm3: 1e5,
    areaMm2: 1e4,
    boxMm: { min: [0, 0, 0], max: [size[0] * scale, size[1], size[2]] },
    closed: !bad,
    volumeDefined: true,
    orientationConsistent: true,
    boundaryEdges: bad ? 6 : 0,
    nonManifoldEdges: 0,
    misorientedEdges: 0,
    components: 1,
    euler: 2,
    grade: bad ? 'doubtful' : 'sound',
    findings: bad
      ? [
          {
            code: 'OPEN_EDGES',
            severity: 'doubt',
            count: 6,
            says: 'six open edges near the quill: volume and mass are doubtful',
            spoils: ['volumeMm3'],
          },
        ]
      : [],
  };
}

function partOf([id, name, quantity, materialId, recipeId]: PartSpecRow): PartSummary {
  return {
    id,
    name,
    assemblyId: id.split('/').slice(0, 2).join('/'),
    meshFile: `${id}.stl`,
    quantity,
    materialId,
    recipeId,
    status: id.endsWith('ankle-cover') ? 'have' : 'print',
    pieceIds: id.endsWith('ankle-cover') ? [] : [id],
    poses: [],
  };
}

const PIECES: readonly Piece[] = PARTS.filter(([id]) => !id.endsWith('ankle-cover')).map(pieceOf);
const PRINTERS: readonly Printer[] = [
  printer('bench', 220, 220, 250, {}),
  printer('loft', 256, 256, 256, {
    has: ['enclosure'],
    unattended: true,
    keepOut: [
      [
        [0, 0],
        [34, 0],
        [34, 28],
        [0, 28],
      ],
    ],
  }),
  printer('shed', 300, 300, 400, { unattended: true }),
];

/** Rows from the front, each piece beside the last: enough for a drawing without overlaps. */
function shelf(copyIds: readonly string[], width: number, left: number): Placed[] {
  let x = left;
  let y = 12;
  let row = 0;
  return copyIds.map((copyId) => {
    const piece = PIECES.find((p) => p.id === copyId.split('#')[0])!;
    const diagonal = piece.id.includes('shin');
    const [w, d] = piece.pose.sizeMm;
    if (diagonal)
      return {
        copyId,
        xMm: 22 + (copyId.includes('left') ? 32 : 0),
        yMm: copyId.includes('left') ? 12 : 44,
        turnDeg: 44,
      };
    if (x + w > width - 8) {
      x = left;
      y += row + 8;
      row = 0;
    }
    const placed = { copyId, xMm: x, yMm: y, turnDeg: 0 };
    x += w + 8;
    row = Math.max(row, d);
    return placed;
  });
}

const copies = (id: string, n: number): string[] => Array.from({ length: n }, (_, i) => `${id}#${i + 1}`);
type PlateRow = readonly [
  id: string,
  name: string,
  printerId: string,
  startH: number,
  copyIds: readonly string[],
  left: number,
];
const PLATE_ROWS: readonly PlateRow[] = [
  [
    'p1',
    'skull and crown',
    'loft',
    0.3,
    ['heron/head/skull#1', 'heron/head/crown#1', ...copies('heron/head/eye-bezel', 2)],
    40,
  ],
  [
    'p2',
    '6 foot pads and 6 toes',
    'shed',
    0.7,
    [...copies('heron/legs/foot-pad', 6), ...copies('heron/legs/toe', 6)],
    12,
  ],
  [
    'p3',
    'neck yoke, hinges and guides',
    'bench',
    1.1,
    [
      'heron/head/neck-yoke#1',
      ...copies('heron/head/jaw-hinge', 2),
      ...copies('heron/neck/tendon-guide', 12),
      ...copies('heron/legs/hinge-hub', 2),
    ],
    12,
  ],
  ['p4', 'breast shell', 'shed', 4.2, ['heron/body/breast-shell#1'], 20],
  ['p5', 'upper and lower beak', 'loft', 14.3, ['heron/head/beak-upper#1', 'heron/head/beak-lower#1'], 60],
  ['p6', 'harness plate', 'bench', 14.8, ['heron/body/harness-plate#1'], 12],
  [
    'p7',
    'left shin and 2 hubs',
    'shed',
    22.6,
    ['heron/legs/shin-left#1', 'heron/legs/hinge-hub#3', 'heron/legs/hinge-hub#4'],
    140,
  ],
  ['p8', 'vertebra rings', 'loft', 22.9, [...copies('heron/neck/ring-a', 2), ...copies('heron/neck/ring-b', 2)], 40],
];

const hoursOf = (copyIds: readonly string[]): number =>
  copyIds.reduce((s, c) => s + PARTS.find(([id]) => id === c.split('#')[0])![6], 0) * 0.92 + 0.2;
const gramsOf = (copyIds: readonly string[]): number =>
  copyIds.reduce((s, c) => s + PARTS.find(([id]) => id === c.split('#')[0])![5], 0);
const pieceOfId = (copyId: string): Piece => PIECES.find((p) => p.id === copyId.split('#')[0])!;

const PLATES: readonly Plate[] = PLATE_ROWS.map(([id, name, printerId, , copyIds, left]) => {
  const device = PRINTERS.find((p) => p.id === printerId)!;
  const first = pieceOfId(copyIds[0]!);
  const from = `${copyIds.length} copies, recipe ${first.recipeId} on ${printerId}; priors until calibrated`;
  return {
    id,
    name,
    printerId,
    materialIds: [first.materialId],
    recipeId: first.recipeId,
    placed: shelf(copyIds, device.plateSizeMm[0], left),
    heightMm: Math.max(...copyIds.map((c) => pieceOfId(c).pose.heightMm)),
    usedShare: Math.min(0.71, 0.3 + 0.03 * copyIds.length),
    massG: massFigure(gramsOf(copyIds), from),
    durationS: timeFigure(hoursOf(copyIds), from),
  };
});

const SPOOL_OF: Readonly<Record<string, string>> = {
  'abs-white': 'W2',
  'abs-grey': 'G1',
  'petg-grey': 'P4',
  'tpu-white': 'F1',
};
const RUNS: readonly Run[] = PLATE_ROWS.map(([plateId, , printerId, startH], i) => {
  const plate = PLATES.find((p) => p.id === plateId)!;
  const endH = startH + plate.durationS.value / HOUR;
  const unloadH = endH > 5 && endH < 14 ? 14 + 0.1 * (i % 3) : endH > 29 && endH < 38 ? 38 : endH + 0.05;
  return {
    id: `run-${plateId}`,
    plateId,
    printerId,
    attendFrom: at(startH - 0.2),
    start: at(startH),
    watchedUntil: at(startH + 0.2),
    end: at(endH),
    unloadFrom: at(unloadH),
    unloadEnd: at(unloadH + 0.2),
    unattended: endH - startH > 5,
    state: 'planned' as const,
    spools: [{ spoolId: SPOOL_OF[plate.materialIds[0]!]!, massG: plate.massG.value }],
  };
});

const TODO: readonly Todo[] = RUNS.flatMap((run): Todo[] => {
  const plate = PLATES.find((p) => p.id === run.plateId)!;
  const start: Todo = {
    from: run.attendFrom,
    to: run.watchedUntil,
    what: 'start',
    printerId: run.printerId,
    runId: run.id,
    plateId: run.plateId,
    says: `start ${plate.name} on ${run.printerId}, spool ${run.spools[0]!.spoolId}`,
  };
  return [
    run.id === 'run-p1' ? { ...start, latestStart: at(1.5) } : start,
    {
      from: run.unloadFrom,
      to: run.unloadEnd,
      what: 'unload',
      printerId: run.printerId,
      runId: run.id,
      plateId: run.plateId,
      says: `unload ${plate.name} from ${run.printerId}`,
    },
  ];
}).sort((a, b) => Date.parse(a.from) - Date.parse(b.from));

const report = (
  assemblyId: string,
  name: string,
  printedG: number,
  boughtG: number,
  limits: MassReport['limits'],
  children: readonly MassReport[] = [],
  missing: readonly string[] = [],
): MassReport => ({
  assemblyId,
  name,
  massG: {
    value: printedG + boughtG,
    low: printedG * 0.95 + boughtG,
    high: printedG * 1.05 + boughtG,
    from: `${name}: estimates of its parts and stated masses of its hardware`,
  },
  centreMm: [3, -6, 212],
  inertiaGMm2: [1, 1, 1, 0, 0, 0],
  printedG,
  boughtG,
  byMaterialG: { 'abs-white': printedG * 0.6, 'petg-grey': printedG * 0.4 },
  byPartG: {},
  children,
  limits,
  missing,
});

export const WEEKEND: Plan = {
  schemaVersion: 1,
  madeBy: 'stonehand 0.1.0',
  name: 'Heron, weekend of 5 June',
  planFrom: at(0),
  planTo: at(52),
  timeZone: 'Europe/Vienna',
  unitsShown: 'metric',
  seed: 7,
  inputsHash: 'c0ffee5eed',
  printers: PRINTERS,
  materials: [
    material('abs-white', 'ABS', 'white', 1.04),
    material('petg-grey', 'PETG', 'grey', 1.27),
    material('tpu-white', 'TPU', 'white', 1.21),
    material('abs-grey', 'ABS', 'grey', 1.04),
  ],
  recipes: [
    recipe('light-shell', { infillShare: 0.08, brimMm: 4 }),
    recipe('strong', { perimeters: 4, infillShare: 0.3, infillPattern: 'grid' }),
    recipe('pads', { layerMm: 0.24, firstLayerMm: 0.3, perimeters: 3, infillShare: 0.25, support: 'none' }),
  ],
  spools: [
    {
      id: 'W2',
      materialId: 'abs-white',
      netG: 812,
      lowG: 760,
      highG: 860,
      from: 'weighed 3 June with an empty spool of 230 g, ±50',
    },
    { id: 'P4', materialId: 'petg-grey', netG: 1010, lowG: 990, highG: 1020, from: 'new' },
    { id: 'F1', materialId: 'tpu-white', netG: 480, lowG: 450, highG: 500, from: 'weighed' },
    { id: 'G1', materialId: 'abs-grey', netG: 390, lowG: 350, highG: 430, from: 'weighed' },
  ],
  hardware: [
    {
      item: {
        id: 'bearing-608',
        name: 'bearing 608',
        massG: 11.8,
        massFrom: 'catalogue',
        magnetic: true,
        price: 1.1,
        leadDays: 3,
      },
      quantity: 6,
    },
    {
      item: {
        id: 'magnet-10x3',
        name: 'magnet 10 × 3',
        massG: 1.8,
        magnetic: true,
        price: 0.6,
        leadDays: 3,
        note: 'eye covers',
      },
      quantity: 8,
    },
    {
      item: {
        id: 'cell-18650',
        name: 'cell 18650, protected',
        massG: 47,
        massFrom: 'data sheet',
        magnetic: true,
        price: 7.5,
      },
      quantity: 2,
    },
    { item: { id: 'screw-m3x10', name: 'screw M3 × 10', massG: 0.9, magnetic: true, price: 0.04 }, quantity: 40 },
  ],
  parts: PARTS.map(partOf),
  readings: PARTS.map(readingOf),
  pieces: PIECES,
  estimates: PARTS.map(estimateOf),
  plates: PLATES,
  runs: RUNS,
  presence: [
    { from: at(0), to: at(4.5), kind: 'present' },
    { from: at(4.5), to: at(13.5), kind: 'asleep' },
    { from: at(13.5), to: at(18), kind: 'present' },
    { from: at(18), to: at(22), kind: 'away' },
    { from: at(22), to: at(28.5), kind: 'present' },
    { from: at(28.5), to: at(38), kind: 'asleep' },
    { from: at(38), to: at(52), kind: 'present' },
  ],
  todo: TODO,
  searches: [
    { what: 'plates: number of plates', value: 8, bound: 8, rounds: 400, seed: 7, ended: 'proven' },
    { what: 'runs: hours until the last one ends', value: 31.4, bound: 29.8, rounds: 2000, seed: 7, ended: 'rounds' },
    { what: 'poses: support of the skull, cm³', value: 5.2, rounds: 300, seed: 7, ended: 'time' },
  ],
  fits: PARTS.flatMap(([id]) =>
    PRINTERS.map((p) => {
      if (id.endsWith('back-shell'))
        return p.id === 'bench'
          ? { partId: id, printerId: p.id, verdict: 'split' as const, pieces: 3, overMm: [202, 58, 0] as const }
          : {
              partId: id,
              printerId: p.id,
              verdict: 'split' as const,
              pieces: 2,
              overMm: [p.id === 'loft' ? 166 : 122, p.id === 'loft' ? 22 : 0, 0] as const,
            };
      if (id.includes('shin'))
        return p.id === 'bench'
          ? {
              partId: id,
              printerId: p.id,
              verdict: 'no' as const,
              overMm: [29, 0, 0] as const,
              scaleThatFits: 0.9127,
              why: 'longer than the diagonal',
            }
          : { partId: id, printerId: p.id, verdict: 'turned' as const, turnDeg: p.id === 'loft' ? 45 : 41 };
      if (id.endsWith('breast-shell') || id.endsWith('tail-fan'))
        return p.id === 'bench'
          ? { partId: id, printerId: p.id, verdict: 'split' as const, pieces: 2, overMm: [30, 0, 0] as const }
          : { partId: id, printerId: p.id, verdict: 'asIs' as const };
      if (id.endsWith('beak-upper') && p.id !== 'shed')
        return {
          partId: id,
          printerId: p.id,
          verdict: 'tipped' as const,
          why: 'standing it would leave 40 mm of head room',
        };
      return { partId: id, printerId: p.id, verdict: 'asIs' as const };
    }),
  ),
  buy: [
    {
      materialId: 'abs-white',
      needG: massFigure(673, 'p1, p4, p8 with purge, and expected failures'),
      shelfG: 812,
      spools: 0,
    },
    {
      materialId: 'petg-grey',
      needG: massFigure(548, 'p3, p6, p7 with purge, and expected failures'),
      shelfG: 1010,
      spools: 0,
    },
    { materialId: 'tpu-white', needG: massFigure(214, 'p2 with purge, and expected failures'), shelfG: 480, spools: 0 },
    { materialId: 'abs-grey', needG: massFigure(121, 'p5 with purge, and expected failures'), shelfG: 390, spools: 0 },
  ],
  buyAll: [
    {
      materialId: 'abs-white',
      needG: massFigure(1420, 'all unprinted copies with purge, and expected failures'),
      shelfG: 812,
      spools: 1,
      price: 24,
    },
    {
      materialId: 'petg-grey',
      needG: massFigure(1160, 'all unprinted copies with purge, and expected failures'),
      shelfG: 1010,
      spools: 1,
      price: 24,
    },
    { materialId: 'tpu-white', needG: massFigure(214, 'all unprinted copies'), shelfG: 480, spools: 0 },
    { materialId: 'abs-grey', needG: massFigure(790, 'all unprinted copies'), shelfG: 390, spools: 1, price: 24 },
  ],
  mass: [
    report(
      'heron',
      'heron',
      2520,
      1180,
      [],
      [
        report('heron/head', 'head', 742, 214, [
          {
            limit: 'massG',
            unit: 'g',
            value: {
              value: 956,
              low: 918,
              high: 994,
              from: 'head: estimates of its parts and stated masses of its hardware',
            },
            allowed: 1050,
            margin: 94,
            chance: 0.93,
          },
          {
            limit: 'centre y, at most',
            unit: 'mm',
            value: { value: -6, low: -9, high: -2, from: 'head: places and masses of 14 items' },
            allowed: 5,
            margin: 11,
            chance: 0.97,
          },
        ]),
        report('heron/neck', 'neck', 318, 160, []),
        report(
          'heron/body',
          'body',
          1105,
          310,
          [
            {
              limit: 'massG',
              unit: 'g',
              value: { value: 1415, low: 1340, high: 1490, from: 'body: estimates of its parts' },
              allowed: 1400,
              margin: -15,
              chance: 0.42,
            },
          ],
          [],
          ['wing felt'],
        ),
        report('heron/legs', 'legs', 355, 496, []),
      ],
    ),
  ],
  deadline: at(42),
  finish: { expected: at(31.6), at80: at(35.2), at95: at(43) },
  onTimeChance: 0.81,
  waiting: [
    ...copies('heron/body/tail-fan', 2).map((copyId) => ({
      copyId,
      reason: 'needs 640 g of ABS grey, 390 on the shelf',
    })),
    { copyId: 'heron/body/back-shell#1', reason: 'longer than any window in which loft may run' },
    ...copies('heron/body/rib', 6).map((copyId) => ({ copyId, reason: 'no room on this weekend’s plates' })),
    ...copies('heron/body/wing-root', 2).map((copyId) => ({ copyId, reason: 'no room on this weekend’s plates' })),
    { copyId: 'heron/neck/ring-a#4', reason: 'no room on this weekend’s plates' },
  ],
  assumed: ['the unit of 25 STL files is mm (their sizes make sense so)'],
  cautions: [],
};

// npm run bench -- slice [--rounds N] [--only c,d,a] [--folder DIR] [--json]
// All layers at 0.2 mm as closed loops beside manifold-3d and a C++ twin; three perimeters of each layer beside clipper2-wasm; motion timing beside
// the twin; growth. Contenders take turns in one warm process (the twin in its own); medians of processor time are printed.
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { moveSeconds, pathSeconds } from '@stonehand/estimate';
import { bytesSource, readStl } from '@stonehand/mesh';
import { insets, layerRegions, loadPolygons, ringsAreaMm2, sliceMesh } from '@stonehand/slice';
import manifoldModule from 'manifold-3d';
import { meshFile } from './meshes.mjs';
import { threadMs } from './thread-time.mjs';

const { values } = parseArgs({
  options: {
    rounds: { type: 'string', default: '7' },
    only: { type: 'string', default: 'c,d' },
    folder: { type: 'string', default: join(tmpdir(), 'stonehand-bench') },
    json: { type: 'boolean', default: false },
  },
});
const rounds = Number(values.rounds);
const LAYER_MM = 0.2;
// Three beads of 0.45 mm: the middles at w/2 + k·s, as perimeters have them.
const SPACING_MM = 0.45 - LAYER_MM * (1 - Math.PI / 4);
const DEPTHS_MM = [0, 1, 2].map((k) => 0.225 + k * SPACING_MM);
// The library rounds to whole units: on 0.01 µm its areas of thin rings are off by 3e-5, so it gets a grid ten times finer.
const UNITS = 1e6;
const GOALS = {
  slice: { 'manifold-3d': [20, 40] },
  twin: [2, 1.5],
  perimeters: { c: [1.4, 2.2], d: [3, 3] },
  motion: [1.15, 1.15],
};

const kernel = await manifoldModule();
kernel.setup();
const polygons = await loadPolygons();
const clipper = await loadClipper();
const twin = buildTwin();
const report = [];

for (const name of values.only.split(',')) {
  const file = await meshFile(name, values.folder);
  const { mesh } = readStl(bytesSource(file, readFileSync(file)));
  slicing(name, mesh);
  perimeters(name, mesh);
}
motion();
growth();
if (values.json) console.log(JSON.stringify(report));

function slicing(name, mesh) {
  const solid = solidOf(mesh);
  let loops;
  let contours = 0;
  const ours = () => {
    loops = sliceMesh(mesh, { layerMm: LAYER_MM, firstLayerMm: LAYER_MM });
  };
  const low = sliceMesh(mesh, { layerMm: LAYER_MM, firstLayerMm: LAYER_MM }).bottomMm;
  const peer = () => {
    contours = 0;
    for (let k = 0; k < loops.zMm.length; k++) {
      const section = solid.slice(low + (k + 0.5) * LAYER_MM);
      contours += section.toPolygons().length;
      section.delete();
    }
  };
  const [oursMs, peerMs] = takeTurns([ours, peer], mesh.triangles.length > 1e6 ? 3 : rounds);
  row('all layers', name, { oursMs, peer: 'manifold-3d', peerMs, goal: GOALS.slice['manifold-3d'] });
  const found = `${loops.loopStart.length - 1} loops (manifold-3d: ${contours}) in ${loops.zMm.length} layers, ${loops.xyMm.length / 2} segments`;
  const perS = ((loops.xyMm.length / 2 / oursMs) * 1e-3).toFixed(1);
  note(`  ${found}; ${perS} million segments a second`);
  solid.delete();
  if (twin === undefined) return;
  const input = join(values.folder, `${name}.welded`);
  writeWelded(input, mesh);
  const { ms, loops: twinLoops } = JSON.parse(
    execFileSync(twin, [input, String(LAYER_MM), String(rounds)], { encoding: 'utf8' }),
  );
  row('all layers', name, { oursMs, peer: 'C++ twin', peerMs: ms, goal: GOALS.twin, atMost: true });
  note(`  the twin found ${twinLoops} loops`);
}

function perimeters(name, mesh) {
  const loops = sliceMesh(mesh, { layerMm: LAYER_MM, firstLayerMm: LAYER_MM });
  const regions = layerRegions(loops, polygons);
  const ours = [];
  const peers = [];
  const run = () => {
    ours.length = 0;
    for (const region of regions) ours.push(insets(region, DEPTHS_MM, polygons).map(ringsAreaMm2));
    polygons.free();
  };
  const peer = () => {
    peers.length = 0;
    for (const region of regions) peers.push(clippedInsets(region));
  };
  const [oursMs, peerMs] = takeTurns([run, peer], Math.min(rounds, 5));
  let worst = 0;
  let at = 0;
  ours.forEach((areas, k) => {
    areas.forEach((area, d) => {
      const off = Math.abs(area - peers[k][d]) / Math.max(1, peers[k][d]);
      if (off > worst) [worst, at] = [off, k];
    });
  });
  row('three perimeters', name, { oursMs, peer: 'clipper2-wasm', peerMs, goal: GOALS.perimeters[name] });
  note(`  areas of ${regions.length} layers × 3 differ by at most ${worst.toExponential(1)} (layer ${at}; goal 2e-5)`);
}

/** As one would with the library alone: the layer converted once, three offsets, each read back point by point. */
function clippedInsets(region) {
  const paths = new clipper.Paths64();
  for (let r = 0; r + 1 < region.ringStart.length; r++) {
    const xy = region.xyMm.subarray(2 * region.ringStart[r], 2 * region.ringStart[r + 1]);
    const path = clipper.MakePath64(Array.from(xy, (v) => Math.round(v * UNITS)));
    paths.push_back(path);
    path.delete();
  }
  const areas = DEPTHS_MM.map((depth) => {
    const out = clipper.InflatePaths64(paths, -depth * UNITS, clipper.JoinType.Miter, clipper.EndType.Polygon, 2, 0);
    const area = clipper.AreaPaths64(out) / UNITS ** 2;
    for (let r = 0; r < out.size(); r++) {
      const path = out.get(r);
      const view = path.view();
      const xy = new Float64Array((view.length / 3) * 2);
      for (let i = 0, at = 0; i < view.length; i += 3) {
        xy[at++] = Number(view[i]) / UNITS;
        xy[at++] = Number(view[i + 1]) / UNITS;
      }
      path.delete();
    }
    out.delete();
    return area;
  });
  paths.delete();
  return areas;
}

function motion() {
  const points = 5_000_001;
  const xy = new Float32Array(2 * points);
  let seed = 7;
  let angle = 0;
  for (let i = 1; i < points; i++) {
    seed = (Math.imul(seed, 1103515245) + 12345) >>> 0;
    angle += i % 40 === 0 ? Math.PI / 2 : 0.1 * (seed / 2 ** 32 - 0.5);
    const length = 0.1 + ((seed >>> 8) % 1000) / 1000;
    xy[2 * i] = xy[2 * i - 2] + length * Math.cos(angle);
    xy[2 * i + 1] = xy[2 * i - 1] + length * Math.sin(angle);
  }
  const how = { speedMmS: 120, accelMmS2: 3000, cornerSpeedMmS: 10 };
  let seconds = 0;
  const [oursMs] = takeTurns(
    [
      () => {
        seconds = pathSeconds(xy, 0, points, false, how);
      },
    ],
    rounds,
  );
  if (twin === undefined) return;
  const input = join(values.folder, 'motion.path');
  writeFileSync(input, new Uint8Array(xy.buffer));
  const told = JSON.parse(execFileSync(twin, ['--motion', input, String(rounds)], { encoding: 'utf8' }));
  row('motion timing', '5 M', { oursMs, peer: 'C++ twin', peerMs: told.ms, goal: GOALS.motion, atMost: true });
  note(
    `  ${seconds.toFixed(3)} s, the twin says ${told.result.toFixed(3)}; one move of 100 mm: ${moveSeconds(100, 0, 0, 120, 3000)} s`,
  );
}

/** A tube standing up: twice the triangles, twice the layers. */
function growth() {
  const times = [1, 2, 4].map((n) => {
    const mesh = tube(20000 * n, 60);
    let out;
    const [ms] = takeTurns(
      [
        () => {
          out = sliceMesh(mesh, { layerMm: 0.2, firstLayerMm: 0.2 });
        },
      ],
      rounds,
    );
    return { ms, segments: out.xyMm.length / 2, triangles: mesh.triangles.length / 3 };
  });
  const layers = [0.2, 0.1, 0.05].map((layerMm) => {
    const mesh = tube(2000, 60);
    const [ms] = takeTurns([() => sliceMesh(mesh, { layerMm, firstLayerMm: layerMm })], rounds);
    return { ms, layers: Math.round(60 / layerMm) };
  });
  note(
    `growth with triangles: ${times.map(({ triangles, segments, ms }) => `${triangles} triangles, ${segments} segments ${ms.toFixed(1)} ms`).join('; ')} (doubling: ×${(times[1].ms / times[0].ms).toFixed(2)}, ×${(times[2].ms / times[1].ms).toFixed(2)})`,
  );
  note(
    `growth with layers: ${layers.map(({ layers: n, ms }) => `${n} layers ${ms.toFixed(1)} ms`).join('; ')} (doubling: ×${(layers[1].ms / layers[0].ms).toFixed(2)}, ×${(layers[2].ms / layers[1].ms).toFixed(2)})`,
  );
}

/** Rows are added with the columns, so that segments grow like triangles: 40 layers are cut in each. */
function tube(columns, heightMm) {
  const rows = 4;
  const around = Math.round(columns / rows / 2);
  const positions = [];
  const triangles = [];
  for (let j = 0; j <= rows; j++) {
    for (let i = 0; i < around; i++) {
      const turn = (2 * Math.PI * i) / around;
      positions.push(40 * Math.cos(turn), 40 * Math.sin(turn), (heightMm * j) / rows);
    }
  }
  const at = (i, j) => j * around + (i % around);
  for (let j = 0; j < rows; j++) {
    for (let i = 0; i < around; i++) {
      triangles.push(at(i, j), at(i + 1, j), at(i + 1, j + 1), at(i, j), at(i + 1, j + 1), at(i, j + 1));
    }
  }
  const low = positions.length / 3;
  positions.push(0, 0, 0, 0, 0, heightMm);
  for (let i = 0; i < around; i++) triangles.push(low, at(i + 1, 0), at(i, 0), low + 1, at(i, rows), at(i + 1, rows));
  return { positions: Float32Array.from(positions), triangles: Uint32Array.from(triangles), originMm: [0, 0, 0] };
}

function takeTurns(runs, times) {
  const seen = runs.map(() => []);
  for (const run of runs) run();
  for (let k = 0; k < times; k++) {
    runs.forEach((run, i) => {
      const from = threadMs();
      run();
      seen[i].push(threadMs() - from);
    });
  }
  return seen.map((all) => all.toSorted((p, q) => p - q)[all.length >> 1]);
}

function row(what, mesh, { oursMs, peer, peerMs, goal, atMost = false }) {
  const ratio = atMost ? oursMs / peerMs : peerMs / oursMs;
  report.push({ what, mesh, oursMs, peer, peerMs, ratio, goal });
  const aim = goal === undefined ? '' : `goal ${atMost ? '≤' : '≥'} ${goal.join(', stretch ')}`;
  note(
    `${what.padEnd(18)}${mesh.padEnd(4)}${oursMs.toFixed(1).padStart(9)} ms  ${peer.padEnd(14)}${peerMs.toFixed(1).padStart(9)} ms  ×${ratio.toFixed(2)}  ${aim}`,
  );
}

function note(text) {
  if (!values.json) console.log(text);
}

function solidOf({ positions, triangles }) {
  const given = new kernel.Mesh({
    numProp: 3,
    vertProperties: Float32Array.from(positions),
    triVerts: Uint32Array.from(triangles),
  });
  given.merge();
  return new kernel.Manifold(given);
}

function writeWelded(file, { positions, triangles }) {
  const head = Uint32Array.of(positions.length / 3, triangles.length / 3);
  const parts = [head, Float32Array.from(positions), Uint32Array.from(triangles)];
  writeFileSync(file, Buffer.concat(parts.map((part) => new Uint8Array(part.buffer))));
}

function buildTwin() {
  if (spawnSync('g++', ['--version']).status !== 0) return undefined;
  mkdirSync(values.folder, { recursive: true });
  const program = join(values.folder, 'slice-twin');
  execFileSync('g++', ['-O3', '-march=native', '-w', '-o', program, join(import.meta.dirname, 'twin/slice.cpp')]);
  return program;
}

async function loadClipper() {
  const module = createRequire(import.meta.url)('clipper2-wasm');
  return (module.default ?? module)();
}

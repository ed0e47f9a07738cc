// node one-part.mjs CONTENDER FILE: one whole part in a fresh process, from the file's bytes to grams and seconds; prints its figures and times as
// JSON. ms (of the first thread's processor time) and clockMs begin when the libraries are loaded.
import { readFileSync } from 'node:fs';
import { threadMs } from '../thread-time.mjs';

const [, , who, file] = process.argv;
const runs = { full: ours, quick: ours, rank: ours, libraries };
console.log(JSON.stringify(await runs[who]()));

async function ours() {
  const { estimateOf, readMeshFile } = await import('./estimate-mesh.mjs');
  return timed(() => {
    const mesh = readMeshFile(file);
    const from = threadMs();
    const found = estimateOf(mesh, who);
    return { ...found, estimateMs: threadMs() - from };
  });
}

/** The same figures from general libraries only: three reads and welds, manifold-3d slices, simplifies, offsets and clips. */
async function libraries() {
  const { STLLoader } = await import('three/examples/jsm/loaders/STLLoader.js');
  const { mergeVertices } = await import('three/examples/jsm/utils/BufferGeometryUtils.js');
  const kernel = await (await import('manifold-3d')).default();
  kernel.setup();
  const { pathSeconds } = await import('@stonehand/estimate');
  return timed(() => {
    const bytes = readFileSync(file);
    const soup = new STLLoader().parse(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
    soup.deleteAttribute('normal');
    const welded = mergeVertices(soup, 1e-5);
    const given = new kernel.Mesh({
      numProp: 3,
      vertProperties: welded.attributes.position.array,
      triVerts: new Uint32Array(welded.index.array),
    });
    given.merge();
    const solid = new kernel.Manifold(given);
    const { min, max } = solid.boundingBox();
    const layerMm = 0.2;
    const layers = [];
    for (let k = 0; k < Math.floor((max[2] - min[2]) / layerMm + 0.5); k++) {
      const section = solid.slice(min[2] + (k + 0.5) * layerMm);
      layers.push(section.simplify(0.01));
      section.delete();
    }
    const rings = [];
    let points = 0;
    const cores = layers.map((section) => {
      let core;
      for (const depth of [-0.21, -0.63, -1.05]) {
        core?.delete();
        core = section.offset(depth, 'Miter', 2);
        for (const ring of core.toPolygons()) {
          rings.push(ring);
          points += ring.length + 1;
        }
      }
      return core;
    });
    const none = layers[0].subtract(layers[0]);
    let solidMm2 = 0;
    let coreMm2 = 0;
    layers.forEach((_, k) => {
      const both = (layers[k - 1] ?? none).intersect(layers[k + 1] ?? none);
      const bare = cores[k].subtract(both);
      solidMm2 += bare.area();
      coreMm2 += cores[k].area();
      both.delete();
      bare.delete();
    });
    const xy = new Float32Array(2 * points);
    let at = 0;
    for (const ring of rings) {
      for (const [x, y] of [...ring, ring[0]]) {
        xy[at++] = x;
        xy[at++] = y;
      }
    }
    let wallMm = 0;
    for (const ring of rings)
      for (let i = 0, j = ring.length - 1; i < ring.length; j = i++)
        wallMm += Math.hypot(ring[i][0] - ring[j][0], ring[i][1] - ring[j][1]);
    const seconds = pathSeconds(xy, 0, points, false, { speedMmS: 120, accelMmS2: 3000, cornerSpeedMmS: 10 });
    return { seconds, wallMm, cm3: ((wallMm * 0.42 + solidMm2 + 0.15 * (coreMm2 - solidMm2)) * layerMm) / 1000 };
  });
}

async function timed(run) {
  const clock = performance.now();
  const from = threadMs();
  const found = await run();
  const ms = threadMs() - from;
  const clockMs = performance.now() - clock;
  return { ...found, ms, clockMs, rssMb: process.resourceUsage().maxRSS / 1024 };
}

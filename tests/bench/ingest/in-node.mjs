// node in-node.mjs WHO FILE: takes in one STL file once, imports excluded, and prints one line of JSON.
import { closeSync, fstatSync, openSync, readFileSync, readSync } from 'node:fs';

const [who, file] = process.argv.slice(2);
const contenders = { stonehand, three, nodeStl, read };
console.log(JSON.stringify(await contenders[who]()));

async function stonehand() {
  const { massProperties, readStl, topology } = await import('@stonehand/mesh');
  const clock = startClock();
  const fd = openSync(file);
  const source = {
    name: file,
    sizeBytes: fstatSync(fd).size,
    read: (into, at) => readSync(fd, into, 0, into.length, at),
  };
  const { mesh } = readStl(source);
  closeSync(fd);
  clock.lap('readMs');
  const edges = topology(mesh);
  clock.lap('topologyMs');
  const mass = massProperties(mesh);
  clock.lap('massMs');
  return clock.stop({
    vertices: mesh.positions.length / 3,
    badEdges: edges.boundaryEdges + edges.nonManifoldEdges + edges.misorientedEdges,
    volume: mass.volumeMm3,
  });
}

async function three() {
  const { STLLoader } = await import('three/examples/jsm/loaders/STLLoader.js');
  const { mergeVertices } = await import('three/examples/jsm/utils/BufferGeometryUtils.js');
  const clock = startClock();
  const bytes = readFileSync(file);
  const geometry = new STLLoader().parse(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length));
  geometry.deleteAttribute('normal'); // facet normals would keep all corners apart
  const merged = mergeVertices(geometry, 1e-5);
  clock.lap('readMs');
  return clock.stop({ vertices: merged.attributes.position.count });
}

async function nodeStl() {
  const { default: NodeStl } = await import('node-stl');
  const clock = startClock();
  const { volume } = new NodeStl(file);
  return clock.stop({ volume: volume * 1000 }); // it answers in cm³
}

async function read() {
  const clock = startClock();
  const bytes = readFileSync(file);
  return clock.stop({ bytes: bytes.length });
}

function startClock() {
  const laps = {};
  const cpu = process.cpuUsage();
  const from = performance.now();
  let last = from;
  return {
    lap(name) {
      const now = performance.now();
      laps[name] = now - last;
      last = now;
    },
    stop(facts) {
      const totalMs = performance.now() - from;
      const { user, system } = process.cpuUsage(cpu);
      return {
        ...laps,
        totalMs,
        cpuMs: (user + system) / 1000,
        ...facts,
        peakMb: process.resourceUsage().maxRSS / 1000,
      };
    },
  };
}

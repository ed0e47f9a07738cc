// A worker of tests/bench/estimate.mjs: estimates the part it is told and answers.
import { parentPort } from 'node:worker_threads';
import { estimateOf, readMeshFile } from './estimate-mesh.mjs';

parentPort.on('message', ({ file, depth }) => parentPort.postMessage(estimateOf(readMeshFile(file), depth)));

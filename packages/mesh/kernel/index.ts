// The module that src/kernel.ts loads. AssemblyScript: TypeScript's syntax, compiled to WebAssembly by build.mjs.
export { components, joinBodies, startBodies, usedVertices } from './bodies';
export {
  boundary,
  collapsed,
  duplicates,
  edges,
  enterEdges,
  firstBoundary,
  firstCollapsed,
  firstDuplicate,
  settleEdges,
  startEdges,
  steps,
} from './edges';
export { boxDouble, boxSingle, markUsed, massDouble, massSingle } from './mass';
export { guardBoxes, pairsSome, planesSome, startPairs, state } from './pairs';
export {
  castSome,
  cornersInOrder,
  nodes,
  pairBoxes,
  soupBounds,
  soupDouble,
  soupSingle,
  splitSome,
  startTree,
} from './rays';
export { refill, weld } from './weld';

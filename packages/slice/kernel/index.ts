// The module that src/kernel.ts loads. AssemblyScript: TypeScript's syntax, compiled to WebAssembly by build.mjs.
export { levelsDouble, levelsSingle, rangeDouble, rangeSingle, spans, walkDouble, walkSingle } from './cut';

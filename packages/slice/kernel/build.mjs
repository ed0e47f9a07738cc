// Compiles the kernel and writes it, as text, to src/generated/kernel-module.ts: so it needs no file beside the bundle.
// Run before tsc: node packages/slice/kernel/build.mjs
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import asc from 'assemblyscript/asc';

const OUT = new URL('../src/generated/', import.meta.url);

const built = new Map();
const { error, stderr } = await asc.main(
  [
    fileURLToPath(new URL('index.ts', import.meta.url)),
    '--outFile=kernel.wasm',
    '--runtime=stub', // raw addresses only: nothing is allocated
    '--noAssert',
    '-O3',
    '--initialMemory=1',
    '--maximumMemory=65536',
  ],
  { writeFile: (name, contents) => built.set(name, contents) },
);
if (error) {
  console.error(stderr.toString());
  throw error;
}
const base64 = Buffer.from(built.get('kernel.wasm')).toString('base64');
const text = `// Written by kernel/build.mjs from kernel/*.ts. Do not edit.
/** The compiled kernel, base64. */
export const KERNEL_MODULE: string =
  '${base64}';
`;
await mkdir(OUT, { recursive: true });
const file = new URL('kernel-module.ts', OUT);
// An unchanged file keeps its time stamp, so tsc -b has nothing to do.
if ((await readFile(file, 'utf8').catch(() => '')) !== text) await writeFile(file, text);

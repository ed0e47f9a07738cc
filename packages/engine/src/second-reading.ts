import type { Reading, SecondReading } from '@stonehand/model';
import type NodeStl from 'node-stl';

// node-stl works in double precision on the file's own numbers; what is left is the order of its sums.
const AGREE = 1e-6;

/**
 * The same STL file read by node-stl, an independent library, and where the two readings differ. It reads binary and text STL
 * only, in the file's numbers, and derives mass from a fixed density that is not used here.
 * @param factor mm per number of the file, scale included
 */
export async function secondReading(path: string, first: Reading, factor: number): Promise<SecondReading> {
  const library = 'node-stl 0.7.3';
  const { default: Stl } = await import('node-stl');
  let stl: NodeStl & { readonly isWatertight?: boolean };
  try {
    stl = new Stl(path);
  } catch (error) {
    const words = error instanceof Error ? error.message : String(error);
    return {
      library,
      differs: ['read'],
      believe: 'first',
      why: `node-stl cannot read this file (${words}); it reads STL only.`,
    };
  }
  // Volume comes in cm³ of numbers taken as mm, the area in mm².
  const volumeMm3 = stl.volume * 1000 * factor ** 3;
  const areaMm2 = stl.area * factor ** 2;
  // Its typings leave isWatertight out; its sources have it since 0.7.
  const closed = stl.isWatertight === true;
  const differs: string[] = [];
  if (first.volumeMm3 !== undefined && apart(Math.abs(first.volumeMm3), Math.abs(volumeMm3))) differs.push('volume');
  if (apart(first.areaMm2, areaMm2)) differs.push('area');
  const size = stl.boundingBox.map((length) => length * factor);
  const firstSize = first.boxMm.max.map((max, k) => max - first.boxMm.min[k]!);
  if (size.some((length, k) => apart(length, firstSize[k]!))) differs.push('box');
  if (closed !== first.closed) differs.push('closedness');
  return {
    library,
    volumeMm3,
    areaMm2,
    closed,
    differs,
    ...verdict(differs, first),
  };
}

function apart(a: number, b: number): boolean {
  return Math.abs(a - b) > AGREE * Math.max(Math.abs(a), Math.abs(b));
}

function verdict(differs: readonly string[], first: Reading): Pick<SecondReading, 'believe' | 'why'> {
  if (differs.length === 0) return { believe: 'either', why: 'both readings agree' };
  if (!first.volumeDefined) {
    return {
      believe: 'neither',
      why: 'the mesh does not enclose a volume, so any volume depends on where the origin lies; repair the mesh first',
    };
  }
  if (differs.every((what) => what === 'closedness')) {
    return {
      believe: 'first',
      why: first.closed
        ? 'this reading welds corners by their exact bits (−0 equals 0) and finds every edge shared by two triangles'
        : 'this reading counts every edge after an exact weld and names the open ones',
    };
  }
  return {
    believe: 'first',
    why: 'this reading sums about the centre of the box and drops no triangle; see what differs',
  };
}

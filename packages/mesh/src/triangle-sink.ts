import { StonehandError } from '@stonehand/base';
import type { Mesh } from '@stonehand/model';
import { NO_OFFSET } from './mesh-file.ts';
import { notFinite } from './weld.ts';
import { BLOCK_TRIANGLES, Welder64 } from './weld-table.ts';

/** Takes triangles corner by corner and welds them a block at a time; for the readers whose files are indexed already. */
export class TriangleSink {
  private readonly name: string;
  private readonly welder: Welder64;
  private readonly block: Float64Array = new Float64Array(BLOCK_TRIANGLES * 9);
  private filled = 0;

  /**
   * @param name the file, for messages
   * @param expectedTriangles only a first guess: the lists grow
   */
  constructor(name: string, expectedTriangles: number) {
    this.name = name;
    this.welder = new Welder64(Math.min(expectedTriangles, MOST_EXPECTED));
  }

  /** Adds the triangle of three points of a flat point list. */
  add(points: Float64Array, a: number, b: number, c: number): void {
    const { block } = this;
    let o = this.filled;
    block[o++] = points[3 * a];
    block[o++] = points[3 * a + 1];
    block[o++] = points[3 * a + 2];
    block[o++] = points[3 * b];
    block[o++] = points[3 * b + 1];
    block[o++] = points[3 * b + 2];
    block[o++] = points[3 * c];
    block[o++] = points[3 * c + 1];
    block[o++] = points[3 * c + 2];
    this.filled = o;
    if (o === block.length) this.flush();
  }

  /** @throws StonehandError MESH_EMPTY when nothing was added, MESH_NOT_FINITE */
  mesh(): Mesh {
    this.flush();
    if (this.welder.triangleCount === 0) {
      throw new StonehandError('MESH_EMPTY', `${this.name}: the file holds no triangle`, 'Export the part again.');
    }
    return { positions: this.welder.positions(), triangles: this.welder.triangles(), originMm: NO_OFFSET };
  }

  private flush(): void {
    const bad = this.filled === 0 ? -1 : this.welder.add(this.block, this.filled / 9);
    if (bad >= 0) throw notFinite(this.name, bad);
    this.filled = 0;
  }
}

const MOST_EXPECTED = 1 << 22; // a wild guess from the size of a file must not ask for gigabytes

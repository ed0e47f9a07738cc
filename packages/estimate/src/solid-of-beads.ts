import type { Tensor, Vec3 } from '@stonehand/model';

/** Sums mass, first and second moments of bead pieces; each is a rod of even mass at the middle height of its layer. */
export class MassSums {
  private m = 0;
  private readonly first = [0, 0, 0];
  /** ∫x² ∫y² ∫z² ∫xy ∫yz ∫zx */
  private readonly second = [0, 0, 0, 0, 0, 0];

  addRod(massG: number, ax: number, ay: number, bx: number, by: number, zMm: number, heightMm: number): void {
    const mx = massG * (ax + bx) * 0.5;
    const my = massG * (ay + by) * 0.5;
    this.m += massG;
    this.first[0] += mx;
    this.first[1] += my;
    this.first[2] += massG * zMm;
    this.second[0] += (massG * (ax * ax + ax * bx + bx * bx)) / 3;
    this.second[1] += (massG * (ay * ay + ay * by + by * by)) / 3;
    this.second[2] += massG * (zMm * zMm + (heightMm * heightMm) / 12);
    this.second[3] += (massG * (2 * ax * ay + ax * by + bx * ay + 2 * bx * by)) / 6;
    this.second[4] += my * zMm;
    this.second[5] += mx * zMm;
  }

  get massG(): number {
    return this.m;
  }

  centreMm(): Vec3 {
    if (this.m === 0) return [0, 0, 0];
    return [this.first[0] / this.m, this.first[1] / this.m, this.first[2] / this.m];
  }

  /** About the centre of mass, g·mm²; off-diagonal −∫xy. */
  inertiaGMm2(): Tensor {
    const [x, y, z] = this.centreMm();
    const xx = this.second[0] - this.m * x * x;
    const yy = this.second[1] - this.m * y * y;
    const zz = this.second[2] - this.m * z * z;
    const xy = this.second[3] - this.m * x * y;
    const yz = this.second[4] - this.m * y * z;
    const zx = this.second[5] - this.m * z * x;
    return [yy + zz, xx + zz, xx + yy, -xy, -yz, -zx];
  }
}

/**
 * Eigenvalues, rising, and unit eigenvectors (a row each) of a symmetric n×n matrix given row-major, by cyclic Jacobi rotations
 * (Golub & Van Loan, Matrix Computations, 8.5). For n of 3 and 4, where it is exact to rounding in a few sweeps.
 */
export function symmetricEigen(matrix: readonly number[], n: number): { values: number[]; vectors: number[][] } {
  const a = [...matrix];
  const v = Array.from({ length: n * n }, (_, i) => (i % (n + 1) === 0 ? 1 : 0));
  const scale = Math.max(...a.map(Math.abs));
  for (let sweep = 0; sweep < 60; sweep++) {
    let off = 0;
    for (let p = 0; p < n; p++) for (let q = p + 1; q < n; q++) off = Math.max(off, Math.abs(a[p * n + q]));
    if (!(off > 1e-16 * scale)) break;
    for (let p = 0; p < n; p++) for (let q = p + 1; q < n; q++) rotate(a, v, n, p, q);
  }
  const order = Array.from({ length: n }, (_, i) => i).sort((i, j) => a[i * (n + 1)] - a[j * (n + 1)] || i - j);
  return {
    values: order.map((i) => a[i * (n + 1)]),
    vectors: order.map((i) => Array.from({ length: n }, (_, k) => v[k * n + i])),
  };
}

function rotate(a: number[], v: number[], n: number, p: number, q: number): void {
  const apq = a[p * n + q];
  if (apq === 0) return;
  const theta = (a[q * n + q] - a[p * n + p]) / (2 * apq);
  const t = (theta >= 0 ? 1 : -1) / (Math.abs(theta) + Math.sqrt(theta * theta + 1));
  const c = 1 / Math.sqrt(t * t + 1);
  const s = t * c;
  for (let k = 0; k < n; k++) {
    const kp = a[k * n + p];
    const kq = a[k * n + q];
    a[k * n + p] = c * kp - s * kq;
    a[k * n + q] = s * kp + c * kq;
  }
  for (let k = 0; k < n; k++) {
    const pk = a[p * n + k];
    const qk = a[q * n + k];
    a[p * n + k] = c * pk - s * qk;
    a[q * n + k] = s * pk + c * qk;
    const vp = v[k * n + p];
    const vq = v[k * n + q];
    v[k * n + p] = c * vp - s * vq;
    v[k * n + q] = s * vp + c * vq;
  }
}

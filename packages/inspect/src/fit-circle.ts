export type Circle = Readonly<{ x: number; y: number; radius: number }>;

/**
 * The circle with the least squares of (distance² − radius²) to the points, x and y in turn (Kåsa 1976): exact for points on one
 * circle, which is what it is used for. Undefined for fewer than three points or points on a line.
 */
export function fitCircle(xy: readonly number[]): Circle | undefined {
  const n = xy.length / 2;
  if (n < 3) return undefined;
  let mx = 0;
  let my = 0;
  for (let i = 0; i < xy.length; i += 2) {
    mx += xy[i] / n;
    my += xy[i + 1] / n;
  }
  let uu = 0;
  let uv = 0;
  let vv = 0;
  let ur = 0;
  let vr = 0;
  let rr = 0;
  for (let i = 0; i < xy.length; i += 2) {
    const u = xy[i] - mx;
    const v = xy[i + 1] - my;
    const r2 = u * u + v * v;
    uu += u * u;
    uv += u * v;
    vv += v * v;
    ur += u * r2;
    vr += v * r2;
    rr += r2;
  }
  const det = uu * vv - uv * uv;
  if (!(det > 1e-9 * (uu + vv) ** 2)) return undefined;
  const cu = (ur * vv - vr * uv) / (2 * det);
  const cv = (vr * uu - ur * uv) / (2 * det);
  return { x: cu + mx, y: cv + my, radius: Math.sqrt(cu * cu + cv * cv + rr / n) };
}

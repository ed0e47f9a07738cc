// The body's shells share one outline; x forward, z up, the rim between back and breast at z = 0.
import {
  block,
  bodySkin,
  bump,
  curve,
  DEG,
  hexagon,
  inset,
  Manifold,
  mix,
  outline,
  rod,
  roundedPlate,
  smooth,
  solid,
  spread,
  union,
} from './shapes.mjs';

const WALL_MM = 2.6;
const halfWidth = curve([
  [-206, 0],
  [-198, 30],
  [-165, 66],
  [-90, 108],
  [0, 131],
  [70, 134],
  [140, 108],
  [185, 62],
  [200, 34],
  [206, 0],
]);
const above = curve([
  [-206, 0],
  [-198, 24],
  [-165, 58],
  [-90, 108],
  [-10, 138],
  [60, 139],
  [130, 112],
  [182, 64],
  [200, 32],
  [206, 0],
]);
const below = curve([
  [-206, 0],
  [-198, 20],
  [-165, 44],
  [-90, 80],
  [0, 108],
  [90, 116],
  [150, 96],
  [188, 52],
  [200, 30],
  [206, 0],
]);

function section(x, angle) {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  const away = Math.min(1, (206 - Math.abs(x)) / 60);
  if (s >= 0) {
    // Rows of scapular feathers: shallow scallops that run back along the flanks.
    const row = Math.floor((x + 206) / 44);
    const along = (x + 206) / 44 - row;
    const tip = 0.3 * Math.abs(Math.sin(5.5 * angle + (row % 2) * (Math.PI / 2)));
    const step = along < tip ? along / tip : 1 - (along - tip) / (1 - tip);
    const relief = 1 + away * 0.018 * smooth(step) * smooth(2.2 * s);
    return [halfWidth(x) * c * relief, above(x) * Math.sign(s) * Math.abs(s) ** 0.94 * relief];
  }
  // The breast has a keel and is fuller at the sides.
  const keel = 1 + 0.05 * away * bump(angle / DEG, 270, 9) * smooth((x + 40) / 120);
  return [halfWidth(x) * Math.sign(c) * Math.abs(c) ** 0.93, -below(x) * Math.abs(s) ** 0.96 * keel];
}

const bodyHull = (stations, around) =>
  bodySkin({
    fromX: -206,
    toX: 206,
    stations,
    around,
    at: section,
    poles: [
      [-206, 0, 0],
      [206, 0, 0],
    ],
  });
const fine = bodyHull(46, 80);

const RIM_SCREWS = [24, 46, 68, 90, 112, 134].flatMap((deg) => [deg, -deg]);
function rimPoint(deg, inMm) {
  const x = 196 * Math.cos(deg * DEG);
  const y = Math.sign(deg) * Math.max(6, halfWidth(x) * Math.min(1, Math.abs(Math.sin(deg * DEG)) * 8) - inMm);
  return [x, y];
}

function half({ up, hoops }) {
  const outer = solid(fine);
  const sign = up ? 1 : -1;
  const keep = block([500, 400, 300], [0, 0, sign * 150]);
  const shell = outer.subtract(solid(inset(fine, WALL_MM)));
  const band = solid(inset(fine, 0.8)).subtract(solid(inset(fine, 13)));
  const flange = band.intersect(block([500, 400, 4.2], [0, 0, sign * 1.1]));
  const hoopBand = solid(inset(fine, 0.8)).subtract(solid(inset(fine, 9)));
  const ribs = hoops.map((x) => hoopBand.intersect(block([3, 400, 302], [x, 0, sign * 150])));
  const bosses = RIM_SCREWS.map((deg) => {
    const [x, y] = rimPoint(deg, 8);
    return rod(4.6, 13, { at: [x, y, up ? -1 : -12], from: true, around: 24 }).intersect(solid(inset(fine, 0.8)));
  });
  const bores = RIM_SCREWS.map((deg) => {
    const [x, y] = rimPoint(deg, 8);
    return rod(up ? 2 : 1.75, 26, { at: [x, y, up ? 0 : -2], around: 20 });
  });
  return { solid: union(shell, flange, ribs, bosses), cuts: bores, keep };
}

export function backShell() {
  const { solid: shell, cuts, keep } = half({ up: true, hoops: [-120, -40, 44, 118] });
  const ridge = solid(inset(fine, 0.8))
    .subtract(solid(inset(fine, 8)))
    .intersect(block([330, 3, 200], [-10, 0, 100]));
  const neckCollar = rod(54, 200, { at: [138, 0, 110], around: 72 });
  const collar = neckCollar.intersect(solid(inset(fine, 0.8))).subtract(solid(inset(fine, 6)));
  const lugs = [-1, 1].map((side) =>
    union(rod(11, 9, { axis: 'y', at: [30, side * 119, 26] }), block([22, 9, 27], [30, side * 119, 12.5])).intersect(
      solid(inset(fine, 0.8)),
    ),
  );
  return union(shell, ridge, collar, ...lugs)
    .intersect(keep)
    .subtract(
      union(
        ...cuts,
        rod(44, 300, { at: [138, 0, 156], around: 72 }),
        ...spread(6, (i) =>
          rod(1.75, 300, { at: [138 + 49 * Math.cos(60 * i * DEG), 49 * Math.sin(60 * i * DEG), 160], around: 16 }),
        ),
        rod(4.2, 400, { axis: 'y', at: [30, 0, 26] }),
        // Louvres over the fan of the speaker, and the tail's slot.
        ...spread(6, (i) =>
          roundedPlate(4, 60, 1.9)
            .extrude(200)
            .translate([-70 - 11 * i, 0, 40]),
        ),
        block([60, 86, 16], [-196, 0, 0]),
      ),
    );
}

export function breastShell() {
  const { solid: shell, cuts, keep } = half({ up: false, hoops: [-110, -30, 60, 130] });
  const hips = [-1, 1].map((side) => rod(35, 120, { at: [-20, side * 78, -80], around: 72 }));
  const collars = union(hips)
    .intersect(solid(inset(fine, 0.8)))
    .subtract(solid(inset(fine, 7)));
  const keelson = solid(inset(fine, 0.8))
    .subtract(solid(inset(fine, 10)))
    .intersect(block([340, 3.4, 200], [0, 0, -100]));
  const stays = [-60, 20].map((x) => block([6, 300, 6], [x, 0, -10]).intersect(solid(inset(fine, 1))));
  return union(shell, collars, keelson, ...stays)
    .intersect(keep)
    .subtract(
      union(
        ...cuts,
        // The hips' forks come in from below.
        ...[-1, 1].flatMap((side) => [
          rod(26, 150, { at: [-20, side * 78, -90], around: 72 }),
          ...spread(6, (i) =>
            rod(1.75, 150, {
              at: [-20 + 30.5 * Math.cos(60 * i * DEG), side * 78 + 30.5 * Math.sin(60 * i * DEG), -90],
              around: 16,
            }),
          ),
        ]),
        // Sound holes under the speaker, in rings.
        ...spread(7, (i) =>
          rod(3, 300, {
            at: [70 + (i ? 15 * Math.cos(60 * i * DEG) : 0), i ? 15 * Math.sin(60 * i * DEG) : 0, -100],
            around: 20,
          }),
        ),
        ...spread(12, (i) =>
          rod(3, 300, { at: [70 + 30 * Math.cos(30 * i * DEG), 30 * Math.sin(30 * i * DEG), -100], around: 20 }),
        ),
        block([60, 86, 16], [-196, 0, 0]),
      ),
    );
}

/** A hoop that stiffens the back: follows the section at x, with an inner flange and lightening holes. Stands in the y–z plane. */
export function ribHoop() {
  const x = 0;
  const points = (depth) =>
    spread(61, (i) => {
      const angle = (Math.PI * i) / 60;
      const [y, z] = section(x, angle);
      const r = Math.hypot(y, z) - depth;
      return [r * Math.cos(Math.atan2(z, y)), r * Math.sin(Math.atan2(z, y))];
    });
  const plate = (from, to, thick) =>
    outline(points(from))
      .subtract(outline(points(to)))
      .intersect(
        outline([
          [-200, 0],
          [200, 0],
          [200, 200],
          [-200, 200],
        ]),
      )
      .extrude(thick);
  const web = plate(3.4, 19, 3);
  const inner = plate(16.4, 19, 9);
  const outerFlange = plate(3.4, 6, 9);
  const feet = [-1, 1].map((side) => block([18, 10, 9], [side * 119.5, 5, 4.5]));
  const holes = spread(15, (i) => {
    const [y, z] = points(11.2)[2 + 4 * i] ?? [0, 0];
    return rod(mix(2.6, 3.6, Math.sin((Math.PI * i) / 14)), 30, { at: [y, z, 0], around: 28 });
  });
  return union(web, inner, outerFlange, ...feet)
    .subtract(
      union(
        ...holes,
        ...[-1, 1].flatMap((side) => [
          rod(1.75, 30, { axis: 'y', at: [side * 119.5, 5, 4.5], around: 20 }),
          hexagon(5.7, 3, { axis: 'y', at: [side * 119.5, 7.4, 4.5] }),
        ]),
      ),
    )
    .rotate([90, 0, 90]);
}

/** Plate between the puppet and the back frame: waffle ribs, strap slots, M5 nut pockets, a bearing ring in the middle. */
export function harnessPlate() {
  const shape = roundedPlate(236, 186, 30)
    .subtract(
      outline(spread(40, (i) => [118 + 26 * Math.cos((2 * Math.PI * i) / 40), 40 * Math.sin((2 * Math.PI * i) / 40)])),
    )
    .subtract(
      outline(spread(40, (i) => [-118 + 26 * Math.cos((2 * Math.PI * i) / 40), 40 * Math.sin((2 * Math.PI * i) / 40)])),
    );
  const plate = shape.extrude(3);
  const rim = shape.subtract(shape.offset(-3, 'Round', 2, 48)).extrude(12);
  const ribs = union(
    ...spread(7, (i) => block([2, 240, 10], [-84 + 28 * i, 0, 6])),
    ...spread(5, (i) => block([240, 2, 10], [0, -56 + 28 * i, 6])),
  ).intersect(shape.extrude(11));
  const bolts = [-1, 1].flatMap((sx) => [-1, 1].map((sy) => [sx * 70, sy * 70]));
  const bosses = bolts.map(([x, y]) => rod(9.5, 14, { at: [x, y, 0], from: true }));
  const hub = rod(30, 16, { from: true, around: 72 });
  const slots = [-1, 1]
    .flatMap((sx) =>
      [-1, 1].map((sy) =>
        roundedPlate(42, 6, 2.9)
          .extrude(40, 0, 0, [1, 1], true)
          .translate([sx * 44, sy * 84, 0]),
      ),
    )
    .concat(
      [-1, 1].flatMap((sx) => [
        roundedPlate(6, 46, 2.9)
          .extrude(40, 0, 0, [1, 1], true)
          .translate([sx * 98, 62, 0]),
        roundedPlate(6, 46, 2.9)
          .extrude(40, 0, 0, [1, 1], true)
          .translate([sx * 98, -62, 0]),
      ]),
    );
  const slotPads = union(
    ...[-1, 1].flatMap((sx) => [-1, 1].map((sy) => block([52, 13, 8], [sx * 44, sy * 84, 4]))),
  ).intersect(shape.extrude(8));
  return union(plate, rim, ribs, slotPads, ...bosses, hub).subtract(
    union(
      ...slots,
      ...bolts.flatMap(([x, y]) => [
        rod(2.75, 60, { at: [x, y, 0], around: 28 }),
        hexagon(8.3, 5, { at: [x, y, 9.3] }),
      ]),
      rod(11.05, 7.2, { at: [0, 0, 9], from: true, around: 72 }),
      rod(9, 60, { around: 64 }),
      ...spread(8, (i) =>
        rod(4, 60, { at: [21 * Math.cos(45 * i * DEG), 21 * Math.sin(45 * i * DEG), 0], around: 28 }),
      ),
    ),
  );
}

/** Nine feathers that fan out from a hub, each with a raised shaft, the whole cupped; the root goes into the body's slot. */
export function tailFan() {
  const feathers = spread(9, (i) => {
    const turn = -34 + 8.5 * i;
    const length = 228 - 0.016 * turn * turn;
    const half = curve([
      [0, 7],
      [60, 11],
      [150, 19.5],
      [length - 26, 19],
      [length - 6, 9],
      [length, 1.5],
    ]);
    const edge = spread(46, (k) => [(length * k) / 45, half((length * k) / 45)]);
    const vane = outline([...edge.map(([x, y]) => [x, -y]), ...edge.reverse().map(([x, y]) => [x, y])]);
    const blade = vane.extrude(1.8).translate([0, 0, i % 2 ? 0 : 0.9]);
    const shaft = rod(3.1, length - 12, { axis: 'x', at: [0, 0, 1.8], r2: 1, from: true, around: 14 });
    const barbs = spread(6, (k) =>
      [-1, 1].map((side) =>
        block([22, 1, 1.3], [11, 0, i % 2 ? 2.2 : 3.1])
          .rotate([0, 0, side * 38])
          .translate([58 + 24 * k, side * 1, 0]),
      ),
    ).flat();
    return union(blade, shaft, union(barbs).intersect(vane.extrude(8))).rotate([0, 0, turn]);
  });
  const hub = Manifold.hull([
    rod(26, 5, { at: [14, 0, 0], from: true, around: 64 }),
    block([30, 80, 5], [-24, 0, 2.5]),
  ]);
  const boss = rod(12, 12, { at: [4, 0, 0], from: true });
  const made = union(...feathers, hub, boss)
    .subtract(block([600, 600, 40], [0, 0, -20]))
    .subtract(
      union(
        rod(4.1, 60, { at: [4, 0, 0] }),
        hexagon(13.2, 5, { at: [4, 0, 7.2] }),
        ...[-1, 1].flatMap((s) => [
          rod(1.75, 40, { at: [-28, s * 30, 0], around: 20 }),
          rod(1.75, 40, { at: [-28, s * 12, 0], around: 20 }),
        ]),
      ),
    );
  return made
    .refineToLength(24)
    .warp((p) => {
      const r = Math.max(0, p[0] - 30);
      p[2] += 0.0011 * p[1] * p[1] * smooth(r / 160) - 0.00022 * r * r + 0.0000009 * r * r * r;
    })
    .rotate([0, 0, 180]);
}

/** Cover of a folded wing: a curved blade with feather steps, a stiffening edge and two hinge ears. Left wing; mirror for the right. */
export function wing() {
  const length = 318;
  const n = 80;
  const m = 24;
  const upper = curve([
    [0, 46],
    [50, 58],
    [130, 56],
    [230, 34],
    [300, 10],
    [318, 2],
  ]);
  const lower = curve([
    [0, -40],
    [60, -62],
    [150, -66],
    [240, -44],
    [318, -6],
  ]);
  const place = (i, k, depth) => {
    const x = (length * i) / n;
    const t = k / m;
    const y = mix(lower(x), upper(x), t);
    const across = 2 * t - 1;
    const bulge = 30 * (1 - across * across) * Math.sin(Math.PI * (0.12 + 0.8 * (i / n)));
    const phase = (x / 46 + 1.3 * t * t) % 1;
    const steps =
      2.4 *
      (phase < 0.76 ? phase / 0.76 : (1 - phase) / 0.24) *
      smooth((x - 20) / 40) *
      smooth(Math.min(t, 1 - t) * 12);
    return [x, y, bulge - depth + (depth ? 0 : steps)];
  };
  const rings = spread(n + 1, (i) => [
    ...spread(m + 1, (k) => place(i, k, 0)),
    ...spread(m + 1, (k) => place(i, m - k, 2.4)),
  ]);
  const points = rings.flat();
  const w = 2 * (m + 1);
  const triangles = [];
  for (let i = 0; i < n; i++)
    for (let j = 0; j < w; j++) {
      const a = i * w + j;
      const b = i * w + ((j + 1) % w);
      triangles.push([a, b, b + w], [a, b + w, a + w]);
    }
  for (const [ring, turn] of [
    [0, false],
    [n, true],
  ])
    for (let k = 0; k < m; k++) {
      const a = ring * w + k;
      const b = a + 1;
      const c = ring * w + (w - 1 - k);
      const d = c - 1;
      triangles.push(turn ? [a, b, d] : [b, a, d], turn ? [a, d, c] : [d, a, c]);
    }
  const blade = solid({ points, triangles });
  const under = (x0, x1, y, h) => {
    const strip = spread(24, (i) => mix(x0, x1, i / 23));
    return Manifold.union(
      strip.slice(1).map((x, i) => {
        const z = (s) =>
          30 *
          (1 - ((2 * (y - lower(s))) / (upper(s) - lower(s)) - 1) ** 2) *
          Math.sin(Math.PI * (0.12 + (0.8 * s) / length));
        const a = strip[i];
        return Manifold.hull([
          block([0.02, 2.4, h], [a, y, z(a) - 1 - h / 2]),
          block([0.02, 2.4, h], [x, y, z(x) - 1 - h / 2]),
        ]);
      }),
    );
  };
  const surface = (x, y) =>
    30 *
    (1 - ((2 * (y - lower(x))) / (upper(x) - lower(x)) - 1) ** 2) *
    Math.sin(Math.PI * (0.12 + (0.8 * x) / length));
  const EAR_Z = 0;
  const ears = [24, 78].map((x) => {
    const top = surface(x, 6) - 1.5;
    return union(
      rod(9, 6, { axis: 'x', at: [x, 6, EAR_Z] }),
      block([6, 18, top - EAR_Z], [x, 6, (top + EAR_Z) / 2]),
    ).intersect(block([60, 60, 60], [x, 6, top - 30]));
  });
  return union(blade, under(10, 270, 6, 8), under(20, 200, -26, 6), ...ears).subtract(
    union(
      rod(4.1, 110, { axis: 'x', at: [50, 6, EAR_Z] }),
      ...spread(3, (i) => rod(1.75, 60, { at: [112 + 40 * i, 26 - 4 * i, 10], around: 20 })),
    ),
  );
}

// The heron's head, in its own axes: x forward, z up, origin over the neck's pivot.
import {
  block,
  bodySkin,
  bump,
  clamp01,
  curve,
  DEG,
  hexagon,
  inset,
  Manifold,
  mix,
  outline,
  rod,
  roundedPlate,
  skin,
  smooth,
  solid,
  spread,
  union,
} from './shapes.mjs';

const WALL_MM = 2.4;
const BEAK_BASE_X = 92;
const GAPE_Z = 2;

// Half widths and heights of the head along x; the tail end of each curve is the pole of the skin.
const halfWidth = curve([
  [-96, 0],
  [-92, 17],
  [-74, 41],
  [-36, 59],
  [8, 64],
  [50, 55],
  [92, 34],
  [130, 19],
  [150, 0],
]);
const above = curve([
  [-96, 0],
  [-92, 17],
  [-74, 38],
  [-36, 55],
  [8, 58],
  [50, 48],
  [92, 30],
  [130, 17],
  [150, 0],
]);
const below = curve([
  [-96, 0],
  [-92, 20],
  [-72, 46],
  [-24, 64],
  [24, 57],
  [92, 25],
  [130, 14],
  [150, 0],
]);

function headSection(x, angle) {
  const c = Math.cos(angle);
  const s = Math.sin(angle);
  // A brow over the eye, a shallow socket under it, a swelling cheek, a furrow along the crown.
  const fold = Math.abs(Math.atan2(s, Math.abs(c))) / DEG;
  const up = s > 0 ? 1 : 0;
  const along = bump(x, 40, 34);
  const relief =
    1 +
    0.17 * up * along * bump(fold, 40, 10) -
    0.13 * along * bump(s > 0 ? fold : -fold, 10, 17) +
    0.07 * bump(x, 18, 40) * bump(s > 0 ? fold : -fold, -24, 16) -
    0.05 * up * bump(fold, 90, 9) * bump(x, 4, 60);
  return [halfWidth(x) * c * relief, (s > 0 ? above(x) : below(x)) * s * relief];
}

const headSkin = bodySkin({
  fromX: -96,
  toX: 150,
  stations: 44,
  around: 64,
  at: headSection,
  poles: [
    [-96, 0, 0],
    [150, 0, 0],
  ],
});
const RIM_Z = -42;

export function skull() {
  const outer = solid(headSkin);
  const rimBand = solid(inset(headSkin, 0.8)).subtract(solid(inset(headSkin, 9)));
  let shell = outer.subtract(solid(inset(headSkin, WALL_MM)));
  const inside = [];
  // Flange around the rim, and the collar that takes the beak's spigot.
  inside.push(rimBand.intersect(block([400, 300, 4], [0, 0, RIM_Z + 1])));
  // Brace across the shell, with the boss of the yoke in its middle: what needs support when the rim lies on the plate.
  const brace = union(
    block([16, 160, 4], [-14, 0, -16]),
    block([4, 160, 12], [-14, 0, -21]),
    rod(17, 12, { at: [-14, 0, -20] }),
    block([90, 4, 10], [-34, 0, -21]),
  );
  const inner = solid(inset(headSkin, 0.8));
  inside.push(brace.intersect(inner));
  const bosses = BOSS_ANGLES.map((deg) => rimBoss(deg));
  inside.push(union(bosses.map((b) => b.solid)).intersect(inner));
  // Eye sockets: a thick ring for the bezel's bayonet.
  for (const side of [-1, 1]) {
    const eye = eyePlace(side);
    inside.push(
      rod(24, 12, { axis: 'y', at: eye })
        .intersect(inner)
        .subtract(solid(inset(headSkin, 5.5))),
    );
  }
  shell = union(shell, inside);
  const cuts = [
    block([400, 400, 200], [0, 0, RIM_Z - 100]),
    block([200, 400, 400], [BEAK_BASE_X + 100, 0, 0]),
    rod(8.2, 40, { at: [-14, 0, -20] }),
    ...bosses.map((b) => b.bore),
    ...spread(4, (i) =>
      rod(1.7, 40, { at: [-14 + 12.5 * Math.cos(i * 90 * DEG), 12.5 * Math.sin(i * 90 * DEG), -20] }),
    ),
    rod(18.2, 400, { axis: 'y', at: [42, 0, 12], around: 56 }),
    // Sockets for the two crest plumes, and ear vents in rows.
    ...[-1, 1].map((side) => rod(2.6, 60, { at: [-70, side * 12, 50] })),
    ...spread(5, (i) => rod(1.6, 400, { axis: 'y', at: [-24 - 7 * i, 0, 2 + 3 * (i % 2)], around: 20 })),
  ];
  return shell.subtract(union(cuts));
}

const BOSS_ANGLES = [28, 78, 130, 180, 230, 282, 332];
function rimBoss(deg) {
  const x = -4 + 66 * Math.cos(deg * DEG);
  const section = headSectionAtRim(x);
  const y = Math.sign(Math.round(Math.sin(deg * DEG) * 1000)) * Math.max(0, section - 8);
  return {
    solid: union(
      rod(4.8, 15, { at: [x, y, RIM_Z - 1], from: true }),
      rod(4.8, 10, { at: [x, y, RIM_Z + 14], r2: 0.6, from: true }),
    ),
    // Heat-set insert M3: hole 4.0, depth insert + 1 (check values C1, common practice).
    bore: rod(2, 6.7 * 2, { at: [x, y, RIM_Z], around: 28 }),
  };
}

function headSectionAtRim(x) {
  let best = 0;
  let gap = Infinity;
  for (let deg = 270; deg <= 360; deg += 1) {
    const [y, z] = headSection(x, deg * DEG);
    if (Math.abs(z - RIM_Z) < gap) {
      gap = Math.abs(z - RIM_Z);
      best = y;
    }
  }
  return best;
}

const eyePlace = (side) => [42, side * 50, 12];

// The beak grows out of the head's section at BEAK_BASE_X and runs to a point, the culmen slightly bent down.
const BEAK_TIP = 318;
function beakRings({ wallMm, toX }) {
  const rings = [];
  const count = 34;
  for (let i = 0; i <= count; i++) {
    const x = mix(BEAK_BASE_X, toX, i / count);
    const share = (x - BEAK_BASE_X) / (BEAK_TIP - BEAK_BASE_X);
    const size = mix(1, 0.035, share ** 0.86);
    const ridge = smooth(share * 5);
    rings.push(
      Array.from({ length: 60 }, (_, j) => {
        const angle = (2 * Math.PI * j) / 60;
        const [y, z] = headSection(BEAK_BASE_X, angle);
        const s = Math.sin(angle);
        const sharp = s > 0 ? 1 + 0.12 * ridge * bump(angle / DEG, 90, 14) : 1;
        const flat = 1 - 0.16 * ridge * bump(Math.abs(s), 0.55, 0.3);
        const r = Math.hypot(y, z) * size * sharp * flat;
        const inner = Math.max(0.35, r - wallMm * mix(2.6, 1, smooth(share * 7)));
        return [x, inner * Math.cos(Math.atan2(z, y)), inner * Math.sin(Math.atan2(z, y)) + GAPE_Z * share];
      }),
    );
  }
  return rings;
}

function beak(withSpigot) {
  const outer = solid(skin(beakRings({ wallMm: 0, toX: BEAK_TIP })));
  const hollow = solid(skin(beakRings({ wallMm: 2.2, toX: 276 }))).translate([-0.01, 0, 0]);
  // The spigot follows the inside of the skull, 0.25 mm a side smaller.
  if (!withSpigot) return { shell: outer.subtract(hollow), outer };
  const plug = solid(inset(headSkin, WALL_MM + 0.25)).intersect(block([14.5, 200, 200], [BEAK_BASE_X - 6.75, 0, 0]));
  const plugHollow = solid(inset(headSkin, WALL_MM + 2.45)).intersect(block([30, 200, 200], [BEAK_BASE_X - 10, 0, 0]));
  const shell = union(outer, plug).subtract(union(hollow, plugHollow));
  return { shell, outer };
}

export function upperBeak() {
  const { shell, outer } = beak(true);
  const tongue = block([150, 3, 14], [175, 0, 9]).intersect(outer);
  const palate = block([5, 90, 60], [120, 0, 20]).intersect(outer);
  const nostrils = [-1, 1].map((side) =>
    Manifold.hull([
      rod(1.9, 30, { axis: 'y', at: [118, side * 22, 17] }),
      rod(1.2, 30, { axis: 'y', at: [142, side * 20, 14] }),
    ]),
  );
  const lugs = [-1, 1].map((side) =>
    union(rod(6, 5, { axis: 'y', at: [86, side * 20, 8] }), block([12, 5, 10], [86, side * 20, 13])),
  );
  const plugInside = solid(inset(headSkin, WALL_MM + 0.25)).intersect(
    block([14.5, 200, 200], [BEAK_BASE_X - 6.75, 0, 0]),
  );
  return union(shell, tongue, palate, union(lugs).intersect(plugInside))
    .subtract(
      union(block([600, 300, 200], [200, 0, GAPE_Z - 100]), ...nostrils, rod(2.1, 120, { axis: 'y', at: [86, 0, 8] })),
    )
    .subtract(rod(8, 20, { axis: 'x', at: [120, 0, 14] }));
}

export function lowerBeak() {
  const { shell, outer } = beak(false);
  const keel = block([140, 2.4, 10], [180, 0, -9]).intersect(outer);
  const floor = spread(3, (i) => block([3, 80, 9], [112 + 34 * i, 0, -14 + 3 * i])).map((b) => b.intersect(outer));
  const half = union(shell, keel, floor).subtract(block([600, 300, 200], [200, 0, GAPE_Z - 0.8 + 100]));
  // Shorter than the upper beak, and the ears that turn on the jaw's pin.
  const ears = [-1, 1].map((side) =>
    Manifold.hull([rod(7, 5, { axis: 'y', at: [78, side * 18, -4] }), block([6, 5, 16], [98, side * 18, -9])]),
  );
  const lever = Manifold.hull([
    rod(5, 4, { axis: 'y', at: [62, 18, -17] }),
    rod(7, 4, { axis: 'y', at: [78, 18, -4] }),
  ]);
  return union(
    half.subtract(block([100, 300, 100], [49, 0, -50])),
    union(ears).subtract(block([60, 60, 40], [130, 0, 20])),
    lever,
  ).subtract(
    union(
      rod(2.15, 60, { axis: 'y', at: [78, 0, -4] }),
      rod(1.1, 60, { axis: 'y', at: [62, 18, -17], around: 20 }),
      block([60, 300, 200], [BEAK_TIP - 18 + 30, 0, 0]),
    ),
  );
}

/** Ring with a raised lid, a seat for a 32 mm lens and a bayonet behind; axis z, face up. */
export function eyeBezel() {
  const profile = outline([
    [15.2, 0],
    [17.9, 0],
    [17.9, 7],
    [24.5, 7],
    [26, 8.6],
    [25.2, 10.6],
    [22.5, 12.8],
    [19.4, 13.4],
    [17.2, 12.2],
    [16.2, 10.4],
    [16.2, 8.2],
    [15.2, 8.2],
  ]);
  const ring = profile.revolve(72);
  const lid = profile
    .revolve(72)
    .translate([0, 0, 2.2])
    .intersect(block([80, 40, 60], [0, 27, 10]))
    .warp((p) => {
      p[2] += 0.06 * Math.max(0, p[1] - 7);
    });
  const lugs = spread(3, (i) => block([5, 2.2, 2.4], [17.6, 0, 1.2]).rotate([0, 0, 120 * i + 15]));
  const notches = spread(3, (i) => block([6, 3, 3.2], [16.4, 0, 4.2]).rotate([0, 0, 120 * i + 75]));
  return union(ring, lid, lugs).subtract(union(notches));
}

/** Bracket that carries the beak's pin: a curved back, two cheeks, gussets, nut pockets. */
export function jawHinge() {
  const base = roundedPlate(44, 30, 5).extrude(4);
  const cheek = (side) => {
    const plate = Manifold.hull([
      rod(8, 5, { axis: 'y', at: [4, side * 12, 24] }),
      block([34, 5, 2], [0, side * 12, 4]),
    ]);
    const gusset = outline([
      [0, 0],
      [7, 0],
      [0, 12],
    ])
      .extrude(3)
      .rotate([90, 0, 0])
      .rotate([0, 0, 90 * side])
      .translate([side * 1.5 - 8, side * 14, 3.5]);
    return union(plate, gusset);
  };
  const saddle = rod(13, 40, { axis: 'y', at: [4, 0, 30], around: 64 });
  const stop = block([5, 24, 9], [-14, 0, 7]);
  const holes = [
    [-17, -10],
    [-17, 10],
    [17, -10],
    [17, 10],
  ].flatMap(([x, y]) => [
    rod(1.75, 20, { at: [x, y, 2], around: 24 }),
    rod(3.1, 3, { at: [x, y, 2.6], from: true, around: 24 }),
  ]);
  return union(base, cheek(-1), cheek(1), stop)
    .subtract(union(saddle.intersect(block([60, 18, 60], [0, 0, 30])), ...holes))
    .subtract(rod(2.1, 60, { axis: 'y', at: [4, 0, 24] }))
    .subtract(hexagon(7.2, 3.5, { axis: 'y', at: [4, 11.2, 24] }))
    .subtract(roundedPlate(14, 10, 3).extrude(20, 0, 0, [1, 1], true));
}

/** Fork from the neck's last ring to the skull's brace, with a seat for a 608 bearing (22 × 7) and its shoulder. */
export function neckYoke() {
  const hub = rod(15.5, 12, { from: true, around: 72 });
  const arms = [-1, 1].map((side) =>
    union(
      Manifold.hull([
        rod(8, 9, { at: [0, side * 13, 0], from: true }),
        rod(5, 9, { at: [4, side * 30, 8], from: true }),
      ]),
      Manifold.hull([
        rod(5, 9, { at: [4, side * 30, 8], from: true }),
        rod(4.4, 8, { at: [-2, side * 36, 40], from: true }),
      ]),
      Manifold.hull([
        rod(4.4, 6, { at: [-2, side * 36, 42], from: true }),
        rod(9, 7, { axis: 'y', at: [-2, side * 36, 54] }),
      ]),
    ),
  );
  const web = Manifold.hull([
    rod(3, 6, { at: [-13, 0, 0], from: true }),
    rod(3, 6, { at: [-34, 0, 6], from: true }),
    rod(5, 6, { at: [-34, 0, 2], from: true }),
  ]);
  const lug = rod(7, 9, { at: [-36, 0, 2], from: true });
  const fillet = rod(20, 3, { r2: 15.5, from: true, around: 72 });
  const cuts = [
    rod(11.05, 8, { at: [0, 0, 5], from: true, around: 72 }),
    rod(9.4, 40, { around: 64 }),
    ...[-1, 1].flatMap((side) => [
      rod(1.75, 30, { axis: 'y', at: [-2, side * 36, 54] }),
      hexagon(5.7, 2.8, { axis: 'y', at: [-2, side * 36 + (side > 0 ? -3.6 : 0.8), 54] }),
    ]),
    rod(1.75, 60, { at: [-36, 0, 4] }),
    hexagon(5.7, 3, { at: [-36, 0, 1.9] }),
    ...spread(3, (i) => block([3, 1.6, 8], [11.6, 0, 9]).rotate([0, 0, 60 + 120 * i])),
  ];
  return union(hub, fillet, web, lug, ...arms).subtract(union(cuts));
}

/** Open tray for two 18650 cells (18.5 × 66) with cradles, strap slots and ears. */
export function batteryTray() {
  const body = roundedPlate(84, 48, 6).extrude(15);
  const cavity = roundedPlate(79.6, 43.6, 4).extrude(30).translate([0, 0, 2]);
  const saddles = [-24, 0, 24].map((x) => block([4, 43, 9], [x, 0, 6]));
  const divider = block([70, 3.8, 12], [0, 0, 7.5]);
  const cells = [-1, 1].map((side) => rod(9.4, 67, { axis: 'x', at: [0, side * 10.6, 12], around: 48 }));
  const ears = [-1, 1].flatMap((sx) =>
    [-1, 1].map((sy) =>
      Manifold.hull([rod(5, 4, { at: [sx * 30, sy * 28, 0], from: true }), block([16, 2, 4], [sx * 30, sy * 22, 2])]),
    ),
  );
  const cuts = [
    ...[-1, 1].flatMap((sx) => [-1, 1].map((sy) => rod(1.75, 20, { at: [sx * 30, sy * 28, 0], around: 24 }))),
    ...[-1, 1].map((sx) => block([5, 60, 2.2], [sx * 12, 0, 4.4])),
    ...[-1, 1].flatMap((sx) => [-1, 1].map((sy) => block([6, 8, 6], [sx * 41, sy * 10.6, 12]))),
    ...[-33, -17, -7, 7, 17, 33].flatMap((x) =>
      [-1, 1].map((side) =>
        roundedPlate(4, 14, 1.9)
          .extrude(10, 0, 0, [1, 1], true)
          .translate([x, side * 10.6, 0]),
      ),
    ),
  ];
  return union(body.subtract(cavity), union(...saddles, divider).subtract(union(cells)), ...ears).subtract(union(cuts));
}

/** A bent plume: quill, vane with barbs, a plug that goes into the crown. Flexible, lies flat on its side. */
export function crestPlume() {
  const length = 168;
  const half = curve([
    [0, 0.8],
    [30, 4.2],
    [80, 8.2],
    [130, 6.6],
    [160, 2.2],
    [168, 0.6],
  ]);
  const steps = 56;
  const upper = spread(steps + 1, (i) => [
    (length * i) / steps,
    half((length * i) / steps) + (i % 2 && i > 8 ? -0.9 : 0),
  ]);
  const lower = spread(steps + 1, (i) => [
    (length * (steps - i)) / steps,
    -0.72 * half((length * (steps - i)) / steps) - (i % 2 ? 0 : 0.5),
  ]);
  const vane = outline([...lower.reverse(), ...upper.reverse()])
    .extrude(1.2)
    .refineToLength(6);
  const quill = rod(2.5, length - 6, { axis: 'x', at: [0, 0, 1.2], r2: 0.7, from: true, around: 20 }).refineToLength(6);
  const plug = rod(2.5, 14, { axis: 'x', at: [-13, 0, 1.2], from: true, around: 20 });
  const collar = rod(3.6, 2.4, { axis: 'x', at: [-1, 0, 1.2], from: true, around: 24 });
  const slots = spread(6, (i) =>
    block([9, 0.9, 10], [52 + 17 * i, (i % 2 ? -1 : 1) * 0.5 * half(52 + 17 * i), 0]).rotate([0, 0, 0]),
  );
  return union(vane, quill, plug, collar)
    .subtract(union(slots))
    .subtract(block([400, 60, 20], [80, 0, -10]))
    .refineToLength(5)
    .warp((p) => {
      const t = clamp01(p[0] / length);
      p[1] += 26 * t * t;
    });
}

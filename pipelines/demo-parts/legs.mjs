// Legs: long shins, thighs, hinges on 608 bearings, feet with flexible pads. Left ones; the right ones are mirrored in y.
import {
  block,
  bump,
  CrossSection,
  curve,
  DEG,
  hexagon,
  Manifold,
  mix,
  outline,
  rod,
  spread,
  sweep,
  union,
} from './shapes.mjs';

/** 338 mm from knuckle to knuckle end: a bent, tapering tube with a spur, knuckles with bores, a nut pocket and a cord channel. */
export function shin() {
  const path = spread(45, (i) => {
    const t = i / 44;
    return [5 * Math.sin(Math.PI * t), 3.2 * Math.sin(2 * Math.PI * t), mix(18, 320, t)];
  });
  const size = curve([
    [0, 17.5],
    [0.1, 14.6],
    [0.45, 12.4],
    [0.8, 13.2],
    [0.92, 15.8],
    [1, 18],
  ]);
  // Scutes: the rings of scales down the front of a wader's leg.
  const scales = (t, a) => 0.55 * Math.abs(Math.sin(11 * Math.PI * t)) * Math.max(0, Math.cos(a + 1.1));
  const outer = sweep(path, (t, a) => size(t) + scales(t, a), 36);
  const inner = sweep(path, (t) => size(t) - 2.6, 30);
  const plugs = [block([60, 60, 14], [0, 0, 22]), block([60, 60, 14], [0, 0, 316])].map((b) => b.intersect(outer));
  const knuckle = (z, width) =>
    Manifold.hull([
      rod(18, width, { axis: 'y', at: [0, 0, z], around: 56 }),
      rod(15, 8, { at: [0, 0, z < 100 ? 24 : 314], around: 44 }),
    ]);
  const spur = Manifold.hull([
    rod(5, 4, { axis: 'y', at: [-14, 0, 250] }),
    rod(3, 12, { at: [-9, 0, 214] }),
    rod(1.6, 3, { axis: 'y', at: [-20, 0, 262] }),
  ]);
  const solidPart = union(outer.subtract(inner), ...plugs, knuckle(0 + 18, 20), knuckle(320, 14), spur.subtract(inner));
  return solidPart.subtract(
    union(
      rod(4.1, 80, { axis: 'y', at: [0, 0, 18], around: 36 }),
      rod(4.1, 80, { axis: 'y', at: [0, 0, 320], around: 36 }),
      hexagon(13.2, 6.8, { axis: 'y', at: [0, 3.4, 18] }),
      ...[-1, 1].map((side) => block([60, 30, 44], [0, side * (7.3 + 15), 328])),
      // Cord in at the top, out above the ankle.
      sweep(
        spread(9, (i) => [-2 - i * 2.4, 0, 292 + 3.4 * i]),
        () => 2,
        20,
      ),
      sweep(
        spread(9, (i) => [2 + i * 2.4, 0, 50 - 2.2 * i]),
        () => 2,
        20,
      ),
      rod(1.9, 330, { at: [0, 0, 170], around: 20 }),
    ),
  );
}

/** Straight fluted thigh, 262 long, the flutes turn once around. */
export function thigh() {
  const star = (r, depth) =>
    new CrossSection([
      spread(64, (i) => {
        const a = (2 * Math.PI * i) / 64;
        const k = r + depth * Math.cos(8 * a);
        return [k * Math.cos(a), k * Math.sin(a)];
      }),
    ]);
  const outer = star(19, 0.9).extrude(222, 26, 90, [0.86, 0.86]).translate([0, 0, 20]);
  const inner = CrossSection.circle(15.4, 48).extrude(190, 8, 0, [0.87, 0.87]).translate([0, 0, 34]);
  const ends = [18, 244].map((z) =>
    Manifold.hull([
      rod(18, 16, { axis: 'y', at: [0, 0, z], around: 56 }),
      rod(15.5, 6, { at: [0, 0, z < 100 ? 32 : 230], around: 44 }),
    ]),
  );
  return union(outer, ...ends).subtract(
    union(
      inner,
      ...[18, 244].map((z) => rod(11.05, 7.2, { axis: 'y', at: [0, 4.5, z], around: 64 })),
      ...[18, 244].map((z) => rod(9.2, 60, { axis: 'y', at: [0, 0, z], around: 48 })),
      ...[-1, 1].flatMap((side) => [18, 244].map((z) => block([60, 20, 44], [0, side * 17.8, z]))),
      ...spread(4, (i) =>
        Manifold.hull([
          rod(3.4, 60, { axis: 'x', at: [0, 0, 70 + 40 * i] }),
          rod(3.4, 60, { axis: 'x', at: [0, 0, 84 + 40 * i] }),
        ]).rotate([0, 0, 45 * i]),
      ),
    ),
  );
}

/** Disc with a seat for a 608 on either face, spokes, a rim groove for the cord, stop pegs. */
export function hingeHub() {
  const profile = outline([
    [9.3, 0],
    [14.8, 0],
    [14.8, 4],
    [25, 4],
    [25, 1],
    [29, 1],
    [30, 2],
    [30, 4.5],
    [27.6, 7.5],
    [30, 10.5],
    [30, 13],
    [29, 14],
    [25, 14],
    [25, 11],
    [14.8, 11],
    [14.8, 18],
    [9.3, 18],
  ]);
  const disc = profile.revolve(84);
  const windows = spread(6, (i) =>
    Manifold.hull([rod(2.6, 40, { at: [19.8, 2.6, 0] }), rod(2.6, 40, { at: [19.8, -2.6, 0] })]).rotate([0, 0, 60 * i]),
  );
  const pegs = [20, 160].map((deg) =>
    rod(2.4, 9, { at: [27.4 * Math.cos(deg * DEG), 27.4 * Math.sin(deg * DEG), 11.5], from: true, around: 24 }),
  );
  return union(disc, ...pegs).subtract(
    union(
      ...windows,
      rod(11.05, 7.2, { at: [0, 0, -0.2], from: true, around: 72 }),
      rod(11.05, 7.2, { at: [0, 0, 11], from: true, around: 72 }),
      rod(1.1, 60, { axis: 'x', at: [30, 0, 7.5], around: 16 }).intersect(block([30, 30, 30], [30, 0, 7.5])),
    ),
  );
}

/** Clevis: two cheeks with bores 8.2 and a hexagon for the M8 nut, on a shank with cross holes. */
export function hingeFork() {
  const cheeks = [-1, 1].map((side) =>
    Manifold.hull([
      rod(17, 6, { axis: 'y', at: [0, side * 13.2, 44], around: 56 }),
      block([30, 6, 4], [0, side * 13.2, 12]),
    ]),
  );
  const saddle = Manifold.hull([block([34, 32.4, 8], [0, 0, 10]), rod(15, 4, { at: [0, 0, -8], around: 48 })]);
  const shank = rod(12.6, 34, { at: [0, 0, -40], from: true, around: 56 });
  const ridges = spread(6, (i) =>
    rod(1.2, 26, { at: [12.4 * Math.cos(60 * i * DEG), 12.4 * Math.sin(60 * i * DEG), -38], from: true, around: 14 }),
  );
  return union(saddle, shank, ...ridges, ...cheeks).subtract(
    union(
      rod(4.1, 80, { axis: 'y', at: [0, 0, 44], around: 36 }),
      hexagon(13.2, 3.6, { axis: 'y', at: [0, 13.2, 44] }),
      rod(8.6, 3, { axis: 'y', at: [0, -15, 44], around: 40 }),
      rod(9, 60, { at: [0, 0, -30], around: 44 }).intersect(block([60, 60, 26], [0, 0, -28])),
      rod(2.2, 100, { at: [0, 0, 0], around: 24 }),
      rod(1.75, 60, { axis: 'x', at: [0, 0, -22], around: 24 }),
      rod(1.75, 60, { axis: 'y', at: [0, 0, -30], around: 24 }),
      rod(19, 21, { axis: 'y', at: [0, 0, 44], around: 64 }),
    ),
  );
}

// One toe: tapering, arched, with a groove at each joint, a claw at its end.
function toe(lengthMm, turnDeg, rootMm) {
  const steps = 26;
  const path = spread(steps + 1, (i) => {
    const t = i / steps;
    return [lengthMm * t, 0, mix(15, 5, t ** 0.8) + 5.5 * Math.sin(Math.PI * t) * (1 - t)];
  });
  const body = sweep(
    path,
    (t) =>
      mix(rootMm, 4.2, t) -
      0.9 * (bump(t, 0.36, 0.03) + bump(t, 0.62, 0.03) + bump(t, 0.84, 0.03)) -
      2.4 * bump(t, 1, 0.08),
    28,
  );
  return body.rotate([0, 0, turnDeg]);
}

/** Left foot: three toes forward (the inner one shorter), one back, ankle with fork bore, cord holes, pockets for the pads. */
export function foot() {
  const toes = [toe(128, 0, 9.5), toe(104, 32, 9), toe(116, -30, 9), toe(76, 176, 8.4)];
  const palm = Manifold.hull([
    rod(17, 9, { at: [0, 0, 4], from: true }),
    rod(10, 7, { at: [20, 0, 3], from: true }),
    rod(9, 6, { at: [-14, 0, 4], from: true }),
  ]);
  const ankle = Manifold.hull([
    rod(13, 4, { at: [0, 0, 10], from: true }),
    rod(11, 10, { axis: 'y', at: [-3, 0, 42], around: 44 }),
  ]);
  const web = [-15, 16].map((turn) =>
    Manifold.hull([
      rod(3, 3, { at: [12, 0, 4], from: true }),
      rod(2.4, 2.4, { at: [52, 8, 4], from: true }),
      rod(2.4, 2.4, { at: [52, -8, 4], from: true }),
    ]).rotate([0, 0, turn]),
  );
  const pads = [
    [64, 0],
    [52, 32],
    [58, -30],
  ].map(([r, deg]) => rod(2.1, 30, { at: [r * Math.cos(deg * DEG), r * Math.sin(deg * DEG), 0], around: 20 }));
  return union(...toes, palm, ankle, ...web)
    .subtract(block([400, 400, 20], [0, 0, -8]))
    .subtract(
      union(
        rod(4.1, 60, { axis: 'y', at: [-3, 0, 42], around: 36 }),
        hexagon(13.2, 4, { axis: 'y', at: [-3, 2, 42] }),
        rod(2, 120, { at: [9, 0, 20], around: 20 }),
        rod(2, 120, { at: [-15, 0, 20], around: 20 }),
        ...pads,
      ),
    );
}

/** Sole for a toe: a boat with a tread, two pegs that snap into the toe. */
export function toePad() {
  const half = curve([
    [-34, 2],
    [-28, 8.5],
    [-6, 11.5],
    [18, 10],
    [30, 6.5],
    [36, 2],
  ]);
  const edge = (inMm) => {
    const xs = spread(41, (i) => mix(-34 + inMm, 36 - inMm, i / 40));
    const side = xs.map((x) => [x, Math.max(0.8, half(x) - inMm)]);
    return outline([...side.map(([x, y]) => [x, -y]), ...side.reverse().map(([x, y]) => [x, y])]);
  };
  const base = edge(0).extrude(5, 3, 0, [1.03, 1.07]);
  const wall = edge(0).subtract(edge(2.2)).extrude(5, 2, 0, [0.98, 0.96]).translate([0, 0, 4.6]);
  const hollow = edge(2.2).extrude(3).translate([0, 0, 3.2]);
  const pegs = [-14, 14].map((x) =>
    union(
      rod(2, 8, { at: [x, 0, 3], from: true, around: 28 }),
      rod(2.6, 1.6, { at: [x, 0, 9.4], r2: 1.7, from: true, around: 28 }),
    ),
  );
  const tread = spread(8, (i) =>
    union(
      block([2, 16, 2.4], [0, 7, 0]).rotate([0, 0, 32]),
      block([2, 16, 2.4], [0, -7, 0]).rotate([0, 0, -32]),
    ).translate([-26 + 8 * i, 0, 0.4]),
  );
  return union(base.subtract(union(hollow, ...tread)), wall, ...pegs).subtract(
    rod(30, 26, { axis: 'y', at: [0, 0, 37.5], around: 72 })
      .intersect(block([26, 30, 20], [0, 0, 12]))
      .subtract(block([20, 40, 40], [0, 0, 0])),
  );
}

// Neck: vertebra rings on a cord, guides for the tendons, a socket at either end. Axis z, middle at 0, 0.
import { block, bump, DEG, hexagon, Manifold, outline, rod, spread, sweep, union } from './shapes.mjs';

const ringPoints = (rx, ry, n = 96) =>
  spread(n, (i) => {
    const a = (2 * Math.PI * i) / n;
    // A little pointed to the front and flat behind: the section of a bird's neck with its plumage.
    const nose = 1 + 0.09 * bump(Math.atan2(Math.sin(a), Math.cos(a)), 0, 0.5);
    return [rx * nose * Math.cos(a), ry * Math.sin(a)];
  });

/** One vertebra: shell with a wavy edge, four tendon bores in bosses, spokes, hub for the cord, ball lip on top. */
export function vertebra() {
  const height = 26;
  const shell = outline(ringPoints(45, 37))
    .extrude(height, 8, 0, [0.94, 0.94])
    .subtract(
      outline(ringPoints(42.4, 34.4))
        .extrude(height + 2, 8, 0, [0.935, 0.935])
        .translate([0, 0, -1]),
    );
  const lip = outline(ringPoints(42.6, 35))
    .extrude(5, 2, 0, [0.965, 0.965])
    .subtract(outline(ringPoints(39.6, 31.9)).extrude(8, 0, 0, [0.96, 0.96]).translate([0, 0, -1]))
    .translate([0, 0, height - 5]);
  const spokes = spread(4, (i) => block([40, 3, 12], [20, 0, 6]).rotate([0, 0, 45 + 90 * i]));
  const bosses = spread(4, (i) => rod(4.6, 18, { at: place(i), from: true, around: 28 }));
  const hub = rod(9, 14, { from: true, around: 40 });
  const fill = outline(ringPoints(44.6, 36.6)).extrude(height, 8, 0, [0.94, 0.94]);
  const inner = union(...spokes, ...bosses, hub).intersect(fill);
  const cuts = [
    ...spread(4, (i) => rod(1.6, 80, { at: place(i), around: 20 })),
    rod(4.1, 60, { around: 32 }),
    rod(6.2, 6, { at: [0, 0, 10], from: true, around: 40 }),
    ...spread(4, (i) =>
      rod(4, 60, { axis: 'x', at: [0, 0, 7] })
        .scale([1, 1, 0.6])
        .translate([0, 0, 2.8])
        .rotate([0, 0, 45 + 90 * i])
        .intersect(block([50, 50, 40]))
        .subtract(rod(12, 60, {})),
    ),
  ];
  return union(shell, lip, inner)
    .subtract(union(cuts))
    .warp((p) => {
      // Saddle edges let two rings tilt against each other.
      const r = Math.hypot(p[0], p[1]);
      const a = Math.atan2(p[1], p[0]);
      const rim = Math.min(1, Math.max(0, (r - 30) / 12));
      const top = p[2] / height;
      p[2] += rim * (1.6 * Math.cos(2 * a) * (top - 0) * 0.9);
    });
}
const place = (i) => {
  const a = (45 + 90 * i) * DEG;
  return [31 * Math.cos(a), 26 * Math.sin(a), 0];
};

/** A quarter bend of tube with flared mouths, on a foot with two screw ears. */
export function tendonGuide() {
  const path = spread(29, (i) => {
    const a = (100 * i) / 28;
    return [22 * Math.sin((a - 5) * DEG), 0, 10 + 22 * (1 - Math.cos((a - 5) * DEG))];
  });
  const flare = (share) => 1.6 * (Math.max(0, 1 - share / 0.14) ** 2 + Math.max(0, 1 - (1 - share) / 0.14) ** 2);
  const tube = sweep(path, (share) => 4.2 + flare(share), 36);
  const longer = spread(33, (i) => {
    const a = -7 + (114 * i) / 32 - 5;
    return [22 * Math.sin(a * DEG), 0, 10 + 22 * (1 - Math.cos(a * DEG))];
  });
  const bore = sweep(longer, (share) => 2.1 + flare(Math.min(1, Math.max(0, (share - 0.06) / 0.88))), 32);
  const foot = Manifold.hull([
    rod(6, 3.2, { at: [-2, -12, 0], from: true }),
    rod(6, 3.2, { at: [-2, 12, 0], from: true }),
    rod(6, 3.2, { at: [14, 0, 0], from: true }),
  ]);
  const web = Manifold.hull([block([14, 3, 1], [4, 0, 3]), rod(1.5, 14, { axis: 'x', at: [4, 0, 9] })]);
  return union(foot, web, tube)
    .subtract(bore)
    .subtract(
      union(
        ...[-12, 12].flatMap((y) => [
          rod(1.75, 20, { at: [-2, y, 0], around: 24 }),
          rod(3.2, 4, { at: [-2, y, 1.8], from: true, around: 24 }),
        ]),
      ),
    );
}

/** Flange that ties the neck to the body or to the yoke: cone from a round flange to the neck's section, gussets, insert bores. */
export function neckSocket() {
  const flange = rod(56, 4, { from: true, around: 96 });
  const throat = outline(ringPoints(47, 39)).extrude(24, 6, 0, [0.955, 0.955]).translate([0, 0, 3]);
  const cone = Manifold.hull([
    rod(51, 1, { at: [0, 0, 3], from: true, around: 96 }),
    outline(ringPoints(46.4, 38.4)).extrude(1).translate([0, 0, 13]),
  ]);
  const gussets = spread(6, (i) =>
    Manifold.hull([block([2.4, 2.4, 20], [40, 0, 14]), block([12, 2.4, 2], [48, 0, 3])]).rotate([0, 0, 60 * i]),
  );
  const hollow = union(outline(ringPoints(44.2, 36.2)).extrude(40, 4, 0, [0.93, 0.93]).translate([0, 0, -2]));
  const spider = union(
    ...spread(3, (i) => block([44, 4, 8], [22, 0, 4]).rotate([0, 0, 60 + 120 * i])),
    rod(11, 10, { from: true }),
  ).intersect(outline(ringPoints(46, 38)).extrude(20));
  const holes = spread(6, (i) =>
    rod(1.75, 30, { at: [51 * Math.cos((30 + 60 * i) * DEG), 51 * Math.sin((30 + 60 * i) * DEG), 0], around: 24 }),
  );
  return union(union(flange, throat, cone, ...gussets).subtract(hollow), spider).subtract(
    union(
      ...holes,
      rod(4.1, 40, {}),
      hexagon(13.2, 7, { at: [0, 0, 4.2] }),
      ...spread(3, (i) =>
        rod(1.6, 40, { at: [26 * Math.cos((60 + 120 * i) * DEG), 26 * Math.sin((60 + 120 * i) * DEG), 0], around: 20 }),
      ),
    ),
  );
}

import { StonehandError } from '@stonehand/base';
import type { Joint, Mesh, Vec3 } from '@stonehand/model';
import type { Manifold } from 'manifold-3d';
import { GLUE_GAP_MM, type JointDesign, type JointOptions, jointsAt, PIN_GAP_MM } from './choose-joints.ts';
import { type Contact, contactsOf } from './contacts.ts';
import { type CutPiece, pieceName } from './cut-mesh.ts';
import { type Kernel, meshOf, solidOf, withKernel } from './kernel.ts';
import { LUG_HALF_WIDTH_MM, LUG_THICK_MM, type Lug, pointOf } from './lug-places.ts';
import { type Plane, planeFrame } from './plane.ts';

/** What is put in between: a length of rod or filament, or a printed key. Its mesh is in the part's coordinates. */
export type LooseBody = Readonly<{
  name: string;
  jointId: string;
  kind: 'dowel' | 'key';
  diameterMm: number;
  lengthMm: number;
  mesh: Mesh;
}>;

export type Joined = Readonly<{
  /** as cut, with their joints in them and the glue's gap taken off their cut faces */
  pieces: readonly CutPiece[];
  joints: readonly Joint[];
  /** the same with what their solids were made from */
  designs: readonly JointDesign[];
  loose: readonly LooseBody[];
  /** between the cut faces, all of it */
  glueMm3: number;
}>;

const FACETS = 48;
/** What counts as nothing in a volume of the kernel: a thousandth of a cubic millimetre. */
const NOTHING_MM3 = 1e-3;

/**
 * Makes the joints of cut pieces as closed solids (manifold-3d, loaded on first use). Each is checked before it is kept: the
 * root of a flange moved towards the outside by the least wall, and a bore grown by it, must lie in the material whole. Coordinates of jointed pieces carry 32 bits.
 * @param pieces of cutMesh, planes the same that made them
 * @throws StonehandError GEOMETRY_FAILED when the kernel refuses a piece or changes its volume by more than 1e-5
 */
export async function joinPieces(
  pieces: readonly CutPiece[],
  planes: readonly Plane[],
  options: JointOptions = {},
): Promise<Joined> {
  if (options.wish === 'none' || pieces.length < 2) return { pieces, joints: [], designs: [], loose: [], glueMm3: 0 };
  const contacts = contactsOf(pieces, planes);
  return withKernel((kernel) => joinWith(kernel, pieces, planes, contacts, options));
}

function joinWith(
  kernel: Kernel,
  pieces: readonly CutPiece[],
  planes: readonly Plane[],
  contacts: readonly Contact[],
  options: JointOptions,
): Joined {
  const solids = new Map(pieces.map((piece) => [piece, solidOf(kernel, piece.mesh, piece.id)]));
  const taken = new Map<CutPiece, Manifold[]>(pieces.map((piece) => [piece, []]));
  const made = contacts.flatMap((contact) => {
    const designs = jointsAt(contact, planes, options, (design) => holdsIn(kernel, design, solids, taken));
    for (const design of designs) {
      sidesOfContact(contact).forEach(([piece, side]) => {
        taken.get(piece)?.push(...roomOf(kernel, design, side));
      });
    }
    return designs;
  });
  const glueGapMm = options.glueGapMm ?? GLUE_GAP_MM;
  const joined = pieces.map((piece) => {
    const body = solids.get(piece)!;
    const mine = made.filter(({ contact }) => contact.lower === piece || contact.upper === piece);
    const mesh = mine.length === 0 ? piece.mesh : withJoints(kernel, piece, body, mine, glueGapMm);
    return { ...piece, mesh };
  });
  const bodies = made.flatMap((design) => looseBody(kernel, design));
  const keys = bodies.filter(({ kind }) => kind === 'key');
  // Keys are printed, so they are named on after the pieces.
  const loose = bodies.map((body) => ({
    ...body,
    name: body.kind === 'key' ? pieceName(pieces.length + keys.indexOf(body)) : body.jointId,
  }));
  const areaMm2 = contacts.reduce((sum, contact) => sum + contact.areaMm2, 0);
  return {
    pieces: joined,
    joints: made.map(({ joint }) => joint),
    designs: made,
    loose,
    glueMm3: 2 * glueGapMm * areaMm2,
  };
}

const sidesOfContact = ({ lower, upper }: Contact): readonly (readonly [CutPiece, 1 | -1])[] => [
  [lower, -1],
  [upper, 1],
];

/** The room a joint takes on one side of its cut, with the wall around it. */
function roomOf(kernel: Kernel, design: JointDesign, side: 1 | -1): Manifold[] {
  const { contact, lug, pin, joint } = design;
  if (lug !== undefined) return [kernel.keep(lugSolid(kernel, contact, lug, side))];
  return pin === undefined ? [] : [kernel.keep(boreSolid(kernel, design, side, joint.leastWallMm ?? 0))];
}

/** Neither breaks the surface nor hangs in the air nor meets another joint, on both sides of the cut. */
function holdsIn(
  kernel: Kernel,
  design: JointDesign,
  solids: ReadonlyMap<CutPiece, Manifold>,
  taken: ReadonlyMap<CutPiece, readonly Manifold[]>,
): boolean {
  const { contact, lug, pin, joint } = design;
  const wallMm = joint.leastWallMm ?? 0;
  const leaves = (test: Manifold, body: Manifold): boolean =>
    kernel.keep(kernel.keep(test).subtract(kernel.keep(trimmedNear(kernel, body, test)))).volume() > NOTHING_MM3;
  return sidesOfContact(contact).every(([piece, side]) => {
    const body = solids.get(piece)!;
    if (lug !== undefined && leaves(rootSheet(kernel, contact, lug, side, wallMm), body)) return false;
    if (pin !== undefined && leaves(boreSolid(kernel, design, side, wallMm), body)) return false;
    const others = taken.get(piece) ?? [];
    return roomOf(kernel, design, side).every((room) =>
      others.every((other) => kernel.keep(room.intersect(other)).volume() <= NOTHING_MM3),
    );
  });
}

/** What of a body lies near another: booleans with that cost a fraction. */
function trimmedNear({ wasm, keep }: Kernel, body: Manifold, near: Manifold): Manifold {
  const { min, max } = near.boundingBox();
  const size = [0, 1, 2].map((d) => max[d] - min[d] + 2) as [number, number, number];
  const box = keep(keep(wasm.Manifold.cube(size)).translate([min[0] - 1, min[1] - 1, min[2] - 1]));
  return body.intersect(box);
}

function withJoints(
  kernel: Kernel,
  piece: CutPiece,
  body: Manifold,
  designs: readonly JointDesign[],
  glueGapMm: number,
): Mesh {
  const { keep, wasm } = kernel;
  const sideOf = (contact: Contact): 1 | -1 => (contact.lower === piece ? -1 : 1);
  const lugs = designs.flatMap(({ contact, lug }) =>
    lug === undefined ? [] : [keep(lugSolid(kernel, contact, lug, sideOf(contact)))],
  );
  const bores = designs.flatMap((design) => {
    if (design.lug !== undefined) return [keep(pinBore(kernel, design))];
    return design.pin === undefined ? [] : [keep(boreSolid(kernel, design, sideOf(design.contact), 0))];
  });
  let solid = lugs.length === 0 ? body : keep(wasm.Manifold.union([body, ...lugs]));
  if (bores.length > 0) solid = keep(wasm.Manifold.difference([solid, ...bores]));
  if (glueGapMm > 0) {
    for (const contact of new Set(designs.map((design) => design.contact))) {
      const side = sideOf(contact);
      const [x, y, z] = contact.plane.normal;
      const o = piece.mesh.originMm;
      const offset = contact.plane.offsetMm - (x * o[0] + y * o[1] + z * o[2]);
      // What is kept lies along the trimming normal.
      solid = keep(solid.trimByPlane([side * x, side * y, side * z], side * offset + glueGapMm));
    }
  }
  if (solid.isEmpty()) {
    throw new StonehandError(
      'GEOMETRY_FAILED',
      `nothing is left of piece ${piece.id}`,
      'Cut elsewhere, or without joints.',
    );
  }
  return meshOf(solid, piece.mesh);
}

/** One half of a flange: six sides, leaning with the wall. */
function lugSolid(kernel: Kernel, contact: Contact, lug: Lug, side: 1 | -1): Manifold {
  return leaning(kernel, contact, lug, [-lug.rootMm, lug.deepMm], [0, side * LUG_THICK_MM]);
}

/** Where the flange's root ends, moved out by the wall that must stay: all of it has to lie in the material. */
function rootSheet(kernel: Kernel, contact: Contact, lug: Lug, side: 1 | -1, wallMm: number): Manifold {
  const at = -lug.rootMm - wallMm;
  return leaning(kernel, contact, lug, [at, at + SHEET_MM], [side * SHEET_MM, side * LUG_THICK_MM]);
}
const SHEET_MM = 0.05;

function leaning(
  { wasm }: Kernel,
  contact: Contact,
  lug: Lug,
  outMm: readonly number[],
  heightsMm: readonly number[],
): Manifold {
  const along = [-lug.out[1], lug.out[0]] as const;
  const points: [number, number, number][] = [];
  for (const h of heightsMm) {
    for (const out of outMm) {
      for (const s of [-LUG_HALF_WIDTH_MM, LUG_HALF_WIDTH_MM]) {
        const mm = out + lug.slope * h;
        const q = [lug.at[0] + mm * lug.out[0] + s * along[0], lug.at[1] + mm * lug.out[1] + s * along[1]] as const;
        const [x, y, z] = local(pointOf(contact.plane, q, h), contact);
        points.push([x, y, z]);
      }
    }
  }
  return wasm.Manifold.hull(points);
}

/** Through both halves of a flange. */
function pinBore(kernel: Kernel, { contact, joint, lug }: JointDesign): Manifold {
  const radiusMm = (joint.diameterMm ?? 0) / 2 + (joint.gapPerSideMm ?? PIN_GAP_MM);
  const from = pointOf(contact.plane, lug!.pinAt, -LUG_THICK_MM - 1);
  return prism(kernel, contact, from, 2 * LUG_THICK_MM + 2, radiusMm, FACETS);
}

/** A bore on one side of the cut, grown by `wallMm` but not across it. */
function boreSolid(
  kernel: Kernel,
  { contact, pin, joint }: Pick<JointDesign, 'contact' | 'pin' | 'joint'>,
  side: 1 | -1,
  wallMm: number,
): Manifold {
  const depthMm = pin!.depthMm + wallMm;
  const flatMm = (joint.diameterMm ?? 0) / 2 + (joint.gapPerSideMm ?? 0) + wallMm;
  // Without a wall it starts beyond the cut face, so that no skin is left there.
  const before = wallMm > 0 ? 0 : 1;
  const from = pointOf(contact.plane, pin!.at, side > 0 ? -before : -depthMm);
  return prism(kernel, contact, from, depthMm + before, flatMm, joint.kind === 'key' ? 4 : FACETS);
}

/** A round or square bar along the cut's normal, `flatMm` from its axis to its flats. */
function prism(
  { wasm, keep }: Kernel,
  contact: Contact,
  from: Vec3,
  lengthMm: number,
  flatMm: number,
  facets: number,
): Manifold {
  const radius = flatMm / Math.cos(Math.PI / facets);
  const bar = keep(wasm.Manifold.cylinder(lengthMm, radius, radius, facets, false));
  const z = contact.plane.normal;
  const [x, y] = planeFrame(z);
  const [px, py, pz] = local(from, contact);
  return bar.transform([x[0], x[1], x[2], 0, y[0], y[1], y[2], 0, z[0], z[1], z[2], 0, px, py, pz, 1]);
}

function local(p: Vec3, { lower }: Contact): Vec3 {
  const o = lower.mesh.originMm;
  return [p[0] - o[0], p[1] - o[1], p[2] - o[2]];
}

function looseBody(kernel: Kernel, { contact, joint, lug, pin }: JointDesign): Omit<LooseBody, 'name'>[] {
  if (joint.diameterMm === undefined || joint.lengthMm === undefined) return [];
  const at = lug?.pinAt ?? pin?.at;
  if (at === undefined) return [];
  const from = pointOf(contact.plane, at, -joint.lengthMm / 2);
  const facets = joint.kind === 'key' ? 4 : FACETS;
  const body = kernel.keep(prism(kernel, contact, from, joint.lengthMm, joint.diameterMm / 2, facets));
  return [
    {
      jointId: joint.id,
      kind: joint.kind === 'key' ? 'key' : 'dowel',
      diameterMm: joint.diameterMm,
      lengthMm: joint.lengthMm,
      mesh: meshOf(body, contact.lower.mesh),
    },
  ];
}

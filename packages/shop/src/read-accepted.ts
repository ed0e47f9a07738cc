import { rotationOfTurns } from '@stonehand/base';
import type { Accepted, Placed, Vec3 } from '@stonehand/model';
import {
  childOf,
  complain,
  coordinateAt,
  type Entry,
  given,
  listedEntries,
  mustBeKnown,
  namedEntries,
  numberOf,
  numbersAt,
  textOf,
  wordOf,
} from './fields.ts';
import type { Known } from './known-names.ts';
import { readDirection } from './read-place.ts';

export const NOTHING_ACCEPTED: Accepted = { poses: {}, cuts: {}, plates: [] };
const CUT_JOINTS = ['flange', 'dowel', 'key', 'butt', 'none'] as const;
// Nine numbers typed with six digits still make a rotation.
const ROTATION_TOLERANCE = 1e-5;

/** accepted.yaml, against the parts that there are. */
export function readAccepted(file: Entry, known: Known): Accepted {
  return {
    poses: Object.fromEntries(readPoses(childOf(file, 'poses'), known)),
    cuts: Object.fromEntries(readCuts(childOf(file, 'cuts'), known)),
    plates: readPlates(file, known),
  };
}

/** Is it a rotation: rows of length 1, at right angles, right-handed? */
export function isRotation(r: readonly number[]): boolean {
  const dot = (a: number, b: number): number => r[a]! * r[b]! + r[a + 1]! * r[b + 1]! + r[a + 2]! * r[b + 2]!;
  const det =
    r[0]! * (r[4]! * r[8]! - r[5]! * r[7]!) -
    r[1]! * (r[3]! * r[8]! - r[5]! * r[6]!) +
    r[2]! * (r[3]! * r[7]! - r[4]! * r[6]!);
  const errors = [dot(0, 0) - 1, dot(3, 3) - 1, dot(6, 6) - 1, dot(0, 3), dot(0, 6), dot(3, 6), det - 1];
  return r.length === 9 && errors.every((error) => Math.abs(error) <= ROTATION_TOLERANCE);
}

/** The part of a piece id: "head/skull" of "head/skull" and of "head/skull/b". */
function partOfPiece(pieceId: string, partIds: ReadonlyMap<string, unknown>): string | undefined {
  if (partIds.has(pieceId)) return pieceId;
  const whole = /^(.+)\/[a-z]+$/.exec(pieceId)?.[1];
  return whole !== undefined && partIds.has(whole) ? whole : undefined;
}

function readPoses(poses: Entry, known: Known): [string, Accepted['poses'][string]][] {
  return namedEntries(poses).flatMap(([pieceId, entry]) => {
    mustBePiece(entry, [], pieceId, known);
    const turn = numbersAt(entry, ['turn'], 3);
    const rotation =
      numbersAt(entry, ['rotation'], 9) ?? (turn === undefined ? undefined : rotationOfTurns(turn as Vec3));
    if (rotation === undefined || !isRotation(rotation)) {
      complain(
        entry,
        [],
        'DATA_INVALID',
        'the pose has no rotation that is one',
        'Write nine numbers of a rotation, row by row, or turn: [0, 90, 0].',
      );
      return [];
    }
    return [[pieceId, { rotation, ...given({ note: textOf(entry, 'note') }) }]];
  });
}

function readCuts(cuts: Entry, known: Known): [string, Accepted['cuts'][string]][] {
  return Object.keys(cuts.raw).map((partId) => {
    mustBeKnown(childOf(cuts, partId), [], partId, [...known.copies.keys()], 'part', 'Remove its cuts.');
    const planes = listedEntries(cuts, partId).flatMap((plane) => {
      const [normal, offsetMm] = [readDirection(plane, ['normal']), coordinateAt(plane, ['offset'])];
      if (normal === undefined)
        complain(
          plane,
          ['normal'],
          'DATA_INVALID',
          'the normal has no direction',
          'Write three numbers that are not all 0.',
        );
      return normal === undefined || offsetMm === undefined
        ? []
        : [
            {
              normal,
              offsetMm,
              ...given({ on: textOf(plane, 'on'), joint: wordOf(plane, 'joint', CUT_JOINTS) }),
            },
          ];
    });
    return [partId, planes];
  });
}

function readPlates(file: Entry, known: Known): Accepted['plates'] {
  const seen = new Set<string>();
  return listedEntries(file, 'plates').flatMap((plate) => {
    const printerId = textOf(plate, 'printer');
    if (printerId === undefined) return [];
    mustBeKnown(plate, ['printer'], printerId, known.printerIds, 'printer', 'Remove the plate.');
    const placed = listedEntries(plate, 'placed').flatMap((copy): Placed[] => {
      const [copyId, xMm, yMm] = [textOf(copy, 'copy'), coordinateAt(copy, ['x']), coordinateAt(copy, ['y'])];
      if (copyId === undefined || xMm === undefined || yMm === undefined) return [];
      mustBeCopy(copy, copyId, known);
      if (seen.has(copyId))
        complain(copy, ['copy'], 'DATA_DUPLICATE', `${copyId} is on two places`, 'Keep one of them.');
      seen.add(copyId);
      return [{ copyId, xMm, yMm, turnDeg: numberOf(copy, 'turn') ?? 0 }];
    });
    return [{ printerId, placed }];
  });
}

function mustBePiece(
  entry: Entry,
  tail: readonly (string | number)[],
  pieceId: string,
  known: Known,
): string | undefined {
  const partId = partOfPiece(pieceId, known.copies);
  if (partId === undefined)
    mustBeKnown(entry, tail, pieceId, [...known.copies.keys()], 'part or piece', 'Remove what is accepted for it.');
  return partId;
}

function mustBeCopy(entry: Entry, copyId: string, known: Known): void {
  const [pieceId, number] = copyId.split('#');
  const partId = mustBePiece(entry, ['copy'], pieceId ?? '', known);
  const copies = partId === undefined ? undefined : known.copies.get(partId);
  if (copies !== undefined && Number(number) > copies) {
    complain(
      entry,
      ['copy'],
      'DATA_UNKNOWN',
      `there is no copy ${number} of ${pieceId}, only ${copies}`,
      'Remove it, or raise the quantity.',
    );
  }
}

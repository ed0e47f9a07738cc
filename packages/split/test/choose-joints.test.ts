import { massProperties, topology } from '@stonehand/mesh';
import { boreDowels, chooseJoints, cutMesh, type Plane } from '@stonehand/split';
import { describe, expect, test } from 'vitest';
import { box, hollowBall, torus } from './solids.ts';

const across: Plane = { normal: [1, 0, 0], offsetMm: 50 };

describe('a joint says what is there', () => {
  test('a thin shell gets a glued butt joint, on its wall and in the plane', () => {
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 3 }];
    const [joint, ...others] = chooseJoints(cutMesh(hollowBall(60, 57.5), planes), planes, {
      partId: 'body/back',
      dowels: true,
    });
    expect(others).toEqual([]);
    expect(joint).toMatchObject({ kind: 'butt', between: ['body/back/a', 'body/back/b'], gapPerSideMm: 0.1 });
    expect(joint!.diameterMm).toBeUndefined();
    expect(joint!.atMm[2]).toBeCloseTo(3, 12);
    const r = Math.hypot(joint!.atMm[0], joint!.atMm[1], 3);
    expect(r).toBeGreaterThan(56);
    expect(r).toBeLessThan(60);
  });
  test('without dowels asked for, a thick block is a butt joint in the middle of its section', () => {
    const pieces = cutMesh(box([100, 40, 30]), [across]);
    const joints = chooseJoints(pieces, [across]);
    expect(joints).toHaveLength(1);
    expect(joints[0]).toMatchObject({ kind: 'butt', between: ['a', 'b'] });
    expect(joints[0]!.atMm[2]).toBeCloseTo(15, 1);
  });
  test('pieces that do not touch share no joint', () => {
    const planes: readonly Plane[] = [
      { normal: [1, 0, 0], offsetMm: 30 },
      { normal: [1, 0, 0], offsetMm: 60 },
    ];
    const joints = chooseJoints(cutMesh(box([100, 20, 20]), planes), planes);
    expect(joints.map((joint) => joint.between.join())).toEqual(['a,b', 'b,c']);
  });
  test('a ring cut across touches in two places but is one joint', () => {
    const planes: readonly Plane[] = [{ normal: [1, 0, 0], offsetMm: 0 }];
    expect(chooseJoints(cutMesh(torus(40, 12), planes), planes)).toHaveLength(1);
  });
});

describe('dowels are cut where they are claimed', () => {
  test('two pins in a block: walls kept, volume taken is that of the bores, pieces stay closed', async () => {
    const whole = cutMesh(box([100, 40, 30]), [across]);
    const joints = chooseJoints(whole, [across], { dowels: true });
    expect(joints.map((joint) => joint.kind)).toEqual(['dowel', 'dowel']);
    for (const { atMm, diameterMm } of joints) {
      const wall = Math.min(atMm[1], 40 - atMm[1], atMm[2], 30 - atMm[2]) - diameterMm! / 2;
      expect(wall).toBeGreaterThanOrEqual(0.75 * diameterMm! - 1e-9);
    }
    const { pieces, boredMm3 } = await boreDowels(whole, joints);
    const { diameterMm, lengthMm, gapPerSideMm } = joints[0]!;
    // A circle of 48 facets; two bores in each of two pieces, 0.5 mm deeper than the pin at both ends.
    const area = 24 * (diameterMm! / 2 + gapPerSideMm!) ** 2 * Math.sin((2 * Math.PI) / 48);
    expect(boredMm3 / (2 * area * (lengthMm! + 1))).toBeCloseTo(1, 3);
    for (const piece of pieces) {
      expect(topology(piece.mesh).boundaryEdges).toBe(0);
      expect(massProperties(piece.mesh).volumeMm3).toBeLessThan(60_000);
    }
  });
  test('a block that is wide but shallow behind the cut takes no dowel', () => {
    const planes: readonly Plane[] = [{ normal: [0, 0, 1], offsetMm: 4 }];
    const joints = chooseJoints(cutMesh(box([60, 60, 8]), planes), planes, { dowels: true });
    expect(joints.map((joint) => joint.kind)).toEqual(['butt']);
  });
});

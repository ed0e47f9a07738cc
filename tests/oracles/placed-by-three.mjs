// Where points end up in nested places, by the scene graph of three.js; and how far they are from an axis, by its vectors.
import { Euler, Matrix4, Object3D, Vector3 } from 'three';

/** places from the outermost in; each turns about x, then y, then z, mirrors along y first where it says so, and moves. */
export function placedByThree(places, points) {
  let outer = new Object3D();
  const root = outer;
  for (const { turnRad, atMm, mirrored } of places) {
    const node = new Object3D();
    node.matrixAutoUpdate = false;
    node.matrix.makeRotationFromEuler(new Euler(...turnRad, 'ZYX')).setPosition(...atMm);
    if (mirrored) node.matrix.multiply(new Matrix4().makeScale(1, -1, 1));
    outer.add(node);
    outer = node;
  }
  root.updateMatrixWorld(true);
  return points.map((point) => new Vector3(...point).applyMatrix4(outer.matrixWorld).toArray());
}

/** Square of the distance of a point from the axis through atMm. */
export function axisDistanceSq(point, atMm, axis) {
  const along = new Vector3(...axis).normalize();
  return new Vector3(...point)
    .sub(new Vector3(...atMm))
    .cross(along)
    .lengthSq();
}

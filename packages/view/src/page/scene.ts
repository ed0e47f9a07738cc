import { cividis, type PieceView, type PoseView } from '@stonehand/report';
import {
  AmbientLight,
  BackSide,
  BufferAttribute,
  BufferGeometry,
  Color,
  DirectionalLight,
  DoubleSide,
  EdgesGeometry,
  FrontSide,
  Group,
  LineBasicMaterial,
  LineLoop,
  LineSegments,
  Matrix4,
  Mesh,
  MeshBasicMaterial,
  MeshLambertMaterial,
  type Object3D,
  PerspectiveCamera,
  Plane,
  Scene,
  SphereGeometry,
  Vector2,
  Vector3,
  WebGLRenderer,
} from 'three';
import { OrbitControls } from 'three/addons/controls/OrbitControls.js';
import type { LayerView } from '../layer-bytes.ts';
import type { Shape } from '../unpack-shape.ts';
import { beadGeometry, type Quantity } from './bead-geometry.ts';

export type From = 'corner' | 'front' | 'side' | 'above' | 'below';

/** Where the eye stands, seen from the piece's middle. Never straight above: the view's up would be undefined. */
const EYES: Readonly<Record<From, readonly [number, number, number]>> = {
  corner: [-0.55, -0.75, 0.5],
  front: [0, -1, 0.06],
  side: [-1, 0, 0.06],
  above: [0, -0.02, 1],
  below: [-0.4, -0.55, -0.75],
};

/** Edges sharper than this are drawn: rounder ones are facets of a curve. */
const SHARP_DEG = 37;
const EDGES_UP_TO_TRIANGLES = 60_000;

/** One canvas with one piece on its printer's plate. Draws only when something changed. */
export class PieceScene {
  private readonly renderer: WebGLRenderer;
  private readonly scene = new Scene();
  private readonly camera = new PerspectiveCamera(32, 1, 1, 8000);
  private readonly controls: OrbitControls;
  private readonly cut = new Plane(new Vector3(0, 0, -1), 1e6);
  private readonly sun = new DirectionalLight(0xffffff, 1.9);
  private readonly posed = new Group();
  private readonly loose = new Group();
  private readonly canvas: HTMLCanvasElement;
  private piece: PieceView | undefined;
  private pose: PoseView | undefined;
  private waiting = 0;

  /** @throws Error where the browser has no WebGL */
  constructor(canvas: HTMLCanvasElement) {
    this.canvas = canvas;
    this.renderer = new WebGLRenderer({ canvas, antialias: true, alpha: true, preserveDrawingBuffer: true });
    this.renderer.localClippingEnabled = true;
    this.renderer.setPixelRatio(Math.min(2, devicePixelRatio));
    this.camera.up.set(0, 0, 1);
    this.controls = new OrbitControls(this.camera, canvas);
    this.controls.addEventListener('change', () => this.draw());
    this.scene.add(new AmbientLight(0xffffff, 1.5), this.sun, this.sun.target, this.posed, this.loose);
    canvas.addEventListener('keydown', (event) => this.onKey(event));
    new ResizeObserver(() => this.draw()).observe(canvas);
  }

  show(piece: PieceView, shape: Shape, overhang: boolean): void {
    this.piece = piece;
    clear(this.posed);
    const drawn = flatGeometry(shape);
    const outside = new MeshLambertMaterial({ vertexColors: true, side: FrontSide, clippingPlanes: [this.cut] });
    // What lies behind a cut is the inside: one flat colour there looks like a cut face.
    const inside = new MeshBasicMaterial({ color: ink('--accent'), side: BackSide, clippingPlanes: [this.cut] });
    this.posed.add(new Mesh(drawn, outside), new Mesh(drawn, inside));
    if (shape.triangles.length / 3 <= EDGES_UP_TO_TRIANGLES) {
      const lines = new LineBasicMaterial({
        color: ink('--ink'),
        transparent: true,
        opacity: 0.45,
        clippingPlanes: [this.cut],
      });
      this.posed.add(new LineSegments(new EdgesGeometry(drawn, SHARP_DEG), lines));
    }
    for (const mark of piece.marks) this.posed.add(markAt(mark.atMm, largest(piece.poses[0]!.sizeMm)));
    this.lie(0, overhang);
    this.look('corner');
  }

  /** Turns the piece to one of its poses. */
  lie(index: number, overhang: boolean): void {
    const piece = this.piece!;
    const pose = piece.poses[index]!;
    this.pose = pose;
    const r = pose.rotation;
    const [x, y, z] = pose.offsetMm;
    this.posed.matrixAutoUpdate = false;
    this.posed.matrix = new Matrix4().set(
      r[0]!,
      r[1]!,
      r[2]!,
      x,
      r[3]!,
      r[4]!,
      r[5]!,
      y,
      r[6]!,
      r[7]!,
      r[8]!,
      z,
      0,
      0,
      0,
      1,
    );
    this.colour(overhang);
    clear(this.loose);
    if (piece.bed !== undefined) this.loose.add(plateLines(piece.bed, pose.sizeMm));
    this.cutAt(undefined);
  }

  /** Plain, or faces that need support in the ramp of their angle. */
  colour(overhang: boolean): void {
    const mesh = this.posed.children[0];
    if (!(mesh instanceof Mesh) || this.piece === undefined || this.pose === undefined) return;
    paint(mesh.geometry, this.pose.rotation, overhang ? this.piece.overhangFromVerticalDeg : 90);
    this.draw();
  }

  /** Takes away what lies above a height; undefined shows all. */
  cutAt(heightMm: number | undefined): void {
    this.cut.constant = heightMm ?? 1e6;
    this.draw();
  }

  /** The beads of one layer, in place of those shown before. Returns the ends of the ramp. */
  beads(layer: LayerView | undefined, quantity: Quantity, travel: boolean): readonly [number, number] {
    const old = this.loose.getObjectByName('beads');
    if (old !== undefined) remove(old);
    // Under beads the cut face must not shout.
    this.insideColour(layer === undefined ? '--accent' : '--line');
    if (layer === undefined) {
      this.draw();
      return [0, 0];
    }
    const { geometry, least, most } = beadGeometry(layer, quantity, travel);
    const mesh = new Mesh(geometry, new MeshBasicMaterial({ vertexColors: true, side: DoubleSide }));
    mesh.name = 'beads';
    this.loose.add(mesh);
    this.draw();
    return [least, most];
  }

  look(from: From): void {
    const [w, d, h] = this.pose!.sizeMm;
    const middle = new Vector3(w / 2, d / 2, h / 2);
    const radius = Math.hypot(w, d, h) / 2;
    const half = (this.camera.fov / 2) * (Math.PI / 180);
    const aspect = Math.min(1, this.aspect());
    const distance = (radius / Math.sin(half) / aspect) * 0.92;
    this.camera.position.copy(middle).addScaledVector(new Vector3(...EYES[from]).normalize(), distance);
    this.camera.near = distance / 100;
    this.camera.far = distance * 12;
    this.controls.target.copy(middle);
    this.controls.update();
    this.draw();
  }

  /** Brings a marked place to the middle of the view. */
  lookAtMark(index: number): void {
    const mark = this.piece?.marks[index];
    if (mark === undefined) return;
    const at = new Vector3(...mark.atMm).applyMatrix4(this.posed.matrix);
    const way = this.camera.position.clone().sub(this.controls.target).normalize();
    this.controls.target.copy(at);
    this.camera.position.copy(at).addScaledVector(way, 0.9 * largest(this.pose!.sizeMm));
    this.controls.update();
    this.draw();
  }

  draw(): void {
    if (this.waiting !== 0) return;
    this.waiting = requestAnimationFrame(() => {
      this.waiting = 0;
      const { clientWidth, clientHeight } = this.canvas;
      if (clientWidth === 0) return;
      const size = this.renderer.getSize(new Vector2());
      if (size.x !== clientWidth || size.y !== clientHeight) {
        this.renderer.setSize(clientWidth, clientHeight, false);
        this.camera.aspect = this.aspect();
        this.camera.updateProjectionMatrix();
      }
      // The light comes over the viewer's left shoulder.
      const side = new Vector3().setFromMatrixColumn(this.camera.matrixWorld, 0);
      this.sun.target.position.copy(this.controls.target);
      this.sun.position
        .copy(this.camera.position)
        .addScaledVector(side, -0.5 * this.camera.position.distanceTo(this.controls.target));
      this.sun.position.z += 0.35 * this.camera.position.distanceTo(this.controls.target);
      this.renderer.render(this.scene, this.camera);
    });
  }

  private insideColour(name: string): void {
    const inside = this.posed.children[1];
    if (inside instanceof Mesh) (inside.material as MeshBasicMaterial).color = ink(name);
  }

  private aspect(): number {
    return this.canvas.clientWidth / Math.max(1, this.canvas.clientHeight);
  }

  private onKey(event: KeyboardEvent): void {
    const step = Math.PI / 24;
    const moved = (
      {
        ArrowLeft: () => this.turn(-step, 0),
        ArrowRight: () => this.turn(step, 0),
        ArrowUp: () => this.turn(0, -step),
        ArrowDown: () => this.turn(0, step),
        '+': () => this.nearer(0.88),
        '=': () => this.nearer(0.88),
        '-': () => this.nearer(1 / 0.88),
      } as Readonly<Record<string, () => void>>
    )[event.key];
    if (moved === undefined) return;
    event.preventDefault();
    moved();
  }

  private turn(aroundRad: number, upRad: number): void {
    const eye = this.camera.position.clone().sub(this.controls.target);
    const radius = eye.length();
    const height = Math.min(Math.PI - 0.02, Math.max(0.02, Math.acos(eye.z / radius) + upRad));
    const around = Math.atan2(eye.y, eye.x) + aroundRad;
    eye.set(Math.sin(height) * Math.cos(around), Math.sin(height) * Math.sin(around), Math.cos(height));
    this.camera.position.copy(this.controls.target).addScaledVector(eye, radius);
    this.controls.update();
  }

  private nearer(factor: number): void {
    const eye = this.camera.position.clone().sub(this.controls.target).multiplyScalar(factor);
    this.camera.position.copy(this.controls.target).add(eye);
    this.controls.update();
  }
}

/** Three vertices of its own for each triangle, so that faces have colours and flat light. */
function flatGeometry({ positions, triangles }: Shape): BufferGeometry {
  const flat = new Float32Array(3 * triangles.length);
  for (let k = 0; k < triangles.length; k++) {
    const v = 3 * triangles[k]!;
    flat[3 * k] = positions[v]!;
    flat[3 * k + 1] = positions[v + 1]!;
    flat[3 * k + 2] = positions[v + 2]!;
  }
  const geometry = new BufferGeometry();
  geometry.setAttribute('position', new BufferAttribute(flat, 3));
  geometry.setAttribute('color', new BufferAttribute(new Float32Array(flat.length), 3));
  geometry.computeVertexNormals();
  return geometry;
}

const PLAIN: readonly [number, number, number] = [206, 202, 194];

/** Faces turned down further than the limit get the ramp's colour, the others plain. Faces on the plate are not held up. */
function paint(geometry: BufferGeometry, rotation: readonly number[], limitDeg: number): void {
  const normal = geometry.getAttribute('normal');
  const position = geometry.getAttribute('position');
  const colour = geometry.getAttribute('color') as BufferAttribute;
  const down = rotation.slice(6, 9);
  const height = (i: number): number =>
    down[0]! * position.getX(i) + down[1]! * position.getY(i) + down[2]! * position.getZ(i);
  let lowest = Infinity;
  for (let i = 0; i < position.count; i++) lowest = Math.min(lowest, height(i));
  const mixed = new Color();
  for (let i = 0; i < position.count; i += 3) {
    const nz = down[0]! * normal.getX(i) + down[1]! * normal.getY(i) + down[2]! * normal.getZ(i);
    const degrees = (Math.asin(Math.min(1, Math.max(-1, -nz))) * 180) / Math.PI;
    const onPlate = nz < -0.999 && height(i) < lowest + 0.05;
    const [r, g, b] =
      degrees > limitDeg && !onPlate ? cividis((degrees - limitDeg) / Math.max(1, 90 - limitDeg)) : PLAIN;
    mixed.setRGB(r / 255, g / 255, b / 255, 'srgb');
    for (let k = i; k < i + 3; k++) colour.setXYZ(k, mixed.r, mixed.g, mixed.b);
  }
  colour.needsUpdate = true;
}

/** The plate under the piece, piece in its middle: outline, usable area, a line each 10 mm, the front edge strong. */
function plateLines(bed: NonNullable<PieceView['bed']>, sizeMm: readonly number[]): Object3D {
  const xs = bed.plate.map(([x]) => x);
  const ys = bed.plate.map(([, y]) => y);
  const [left, right, front, back] = [Math.min(...xs), Math.max(...xs), Math.min(...ys), Math.max(...ys)];
  const group = new Group();
  const ring = (points: readonly (readonly [number, number])[], colour: Color): LineLoop => {
    const flat = Float32Array.from(points.flatMap(([x, y]) => [x, y, 0]));
    return new LineLoop(
      new BufferGeometry().setAttribute('position', new BufferAttribute(flat, 3)),
      new LineBasicMaterial({ color: colour }),
    );
  };
  group.add(ring(bed.plate, ink('--soft')), ring(bed.usable, ink('--line')));
  const grid: number[] = [];
  const rectangular = bed.plate.length === 4;
  if (rectangular) {
    for (let x = left; x <= right; x += 10) grid.push(x, front, 0, x, back, 0);
    for (let y = front; y <= back; y += 10) grid.push(left, y, 0, right, y, 0);
    const fine = new BufferGeometry().setAttribute('position', new BufferAttribute(Float32Array.from(grid), 3));
    group.add(
      new LineSegments(fine, new LineBasicMaterial({ color: ink('--line'), transparent: true, opacity: 0.55 })),
    );
    const edge = Float32Array.from([left, front, 0, right, front, 0, left, front - 1, 0, right, front - 1, 0]);
    group.add(
      new LineSegments(
        new BufferGeometry().setAttribute('position', new BufferAttribute(edge, 3)),
        new LineBasicMaterial({ color: ink('--ink') }),
      ),
    );
  }
  group.position.set(sizeMm[0]! / 2 - (left + right) / 2, sizeMm[1]! / 2 - (front + back) / 2, -0.05);
  return group;
}

function markAt(atMm: readonly [number, number, number], pieceMm: number): Object3D {
  const ball = new Mesh(
    new SphereGeometry(Math.max(1, pieceMm / 70), 16, 12),
    new MeshBasicMaterial({ color: ink('--c6'), depthTest: false, transparent: true, opacity: 0.9 }),
  );
  ball.position.set(...atMm);
  ball.renderOrder = 5;
  return ball;
}

/** A colour of the page's style sheet, light or dark as the page is now. */
function ink(name: string): Color {
  return new Color(getComputedStyle(document.documentElement).getPropertyValue(name).trim() || '#555');
}

function largest(sizeMm: readonly number[]): number {
  return Math.max(...sizeMm);
}

function clear(group: Group): void {
  for (const child of [...group.children]) remove(child);
}

function remove(object: Object3D): void {
  object.traverse((each) => {
    if (each instanceof Mesh || each instanceof LineSegments || each instanceof LineLoop) {
      each.geometry.dispose();
      (each.material as LineBasicMaterial).dispose();
    }
  });
  object.removeFromParent();
}

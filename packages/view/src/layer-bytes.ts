import type { LayerPaths } from '@stonehand/model';
import { deflateSync, inflateSync } from 'fflate';
import { ByteReader, ByteWriter } from './byte-stream.ts';

/** One layer to look at; path p owns the points pathStart[p]… of xyMm. */
export type LayerView = Readonly<{
  /** counted from 0 at the plate */
  layer: number;
  topMm: number;
  heightMm: number;
  /** index into BEAD_KINDS of package slice */
  kind: Uint8Array;
  closed: Uint8Array;
  widthMm: Float32Array;
  /** mean speed along the path, stops and corners included */
  speedMmS: Float32Array;
  pathStart: Uint32Array;
  xyMm: Float32Array;
}>;

/** A tenth of a bead's least width: finer cannot be seen. */
const STEP_MM = 0.02;

/**
 * Some layers' bead paths for the page: coordinates as steps of 0.02 mm from the point before, widths to a hundredth, mean speeds to a whole mm/s, then
 * deflate (RFC 1951). speedMmS holds one speed a path of all layers.
 */
export function packLayers(paths: LayerPaths, speedMmS: Float32Array, layers: readonly number[]): Uint8Array {
  const out = new ByteWriter();
  out.unsigned(layers.length);
  for (const layer of layers) {
    const from = paths.layerStart[layer]!;
    const to = paths.layerStart[layer + 1]!;
    out.unsigned(layer);
    out.micrometres(paths.topMm[layer]!);
    out.micrometres(paths.topMm[layer]! - (layer === 0 ? paths.bottomMm : paths.topMm[layer - 1]!));
    out.unsigned(to - from);
    let x = 0;
    let y = 0;
    for (let p = from; p < to; p++) {
      out.unsigned(2 * paths.kind[p]! + paths.closed[p]!);
      out.unsigned(Math.round(paths.widthMm[p]! * 100));
      out.unsigned(Math.round(speedMmS[p]!));
      out.unsigned(paths.pathStart[p + 1]! - paths.pathStart[p]!);
      for (let i = paths.pathStart[p]!; i < paths.pathStart[p + 1]!; i++) {
        const nextX = Math.round(paths.xyMm[2 * i]! / STEP_MM);
        const nextY = Math.round(paths.xyMm[2 * i + 1]! / STEP_MM);
        out.signed(nextX - x);
        out.signed(nextY - y);
        x = nextX;
        y = nextY;
      }
    }
  }
  return deflateSync(out.finish(), { level: 9 });
}

/** Reads what packLayers wrote. */
export function unpackLayers(packed: Uint8Array): LayerView[] {
  const bytes = new ByteReader(inflateSync(packed));
  return Array.from({ length: bytes.unsigned() }, () => unpackLayer(bytes));
}

function unpackLayer(bytes: ByteReader): LayerView {
  const layer = bytes.unsigned();
  const topMm = bytes.micrometres();
  const heightMm = bytes.micrometres();
  const count = bytes.unsigned();
  const kind = new Uint8Array(count);
  const closed = new Uint8Array(count);
  const widthMm = new Float32Array(count);
  const speedMmS = new Float32Array(count);
  const pathStart = new Uint32Array(count + 1);
  const xy: number[] = [];
  let x = 0;
  let y = 0;
  for (let p = 0; p < count; p++) {
    const how = bytes.unsigned();
    kind[p] = how >> 1;
    closed[p] = how & 1;
    widthMm[p] = bytes.unsigned() / 100;
    speedMmS[p] = bytes.unsigned();
    const points = bytes.unsigned();
    for (let i = 0; i < points; i++) {
      x += bytes.signed();
      y += bytes.signed();
      xy.push(x * STEP_MM, y * STEP_MM);
    }
    pathStart[p + 1] = xy.length / 2;
  }
  return { layer, topMm, heightMm, kind, closed, widthMm, speedMmS, pathStart, xyMm: Float32Array.from(xy) };
}

const MOST_LAYERS = 60;

/** As many layers, evenly spread, as fit into so many bytes; four at least. */
export function packLayersWithin(paths: LayerPaths, speedMmS: Float32Array, mostBytes: number): Uint8Array {
  for (let most = MOST_LAYERS; ; most = Math.max(4, Math.floor(most * 0.7))) {
    const packed = packLayers(paths, speedMmS, layersToShow(paths.topMm.length, most));
    if (packed.length <= mostBytes || most === 4) return packed;
  }
}

/** At most `most` layers, evenly spread, first and last among them. */
export function layersToShow(count: number, most: number): number[] {
  if (count <= most) return Array.from({ length: count }, (_, i) => i);
  return Array.from({ length: most }, (_, i) => Math.round((i * (count - 1)) / (most - 1)));
}

import type { PieceView, ViewData } from '@stonehand/report';
import { type LayerView, unpackLayers } from '../layer-bytes.ts';
import { type Shape, unpackShape } from '../unpack-shape.ts';

/** What the page carries for its script, read when it is asked for. */
export type PageData = Readonly<{
  pieces: readonly PieceView[];
  shape: (pieceId: string) => Shape | undefined;
  layers: (pieceId: string) => readonly LayerView[];
  about: (pieceId: string) => DocumentFragment | undefined;
  picture: (pieceId: string) => string | undefined;
}>;

export function pageData(): PageData {
  const text = document.getElementById('view-data')?.textContent ?? '{"pieces":[]}';
  const { pieces } = JSON.parse(text) as ViewData;
  return {
    pieces,
    shape: (id) => {
      const packed = packedBytes('shape', id);
      return packed === undefined ? undefined : unpackShape(packed);
    },
    layers: (id) => {
      const packed = packedBytes('layers', id);
      return packed === undefined ? [] : unpackLayers(packed);
    },
    about: (id) => {
      const template = document.querySelector<HTMLTemplateElement>(`template[data-about="${CSS.escape(id)}"]`);
      return template === null ? undefined : (template.content.cloneNode(true) as DocumentFragment);
    },
    picture: (id) =>
      document.querySelector<HTMLImageElement>(`#part-table tr[data-piece="${CSS.escape(id)}"] img.pic`)?.src,
  };
}

function packedBytes(kind: 'shape' | 'layers', pieceId: string): Uint8Array | undefined {
  const text = document.querySelector(`script[data-${kind}="${CSS.escape(pieceId)}"]`)?.textContent;
  if (text === null || text === undefined) return undefined;
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < bytes.length; i++) bytes[i] = binary.charCodeAt(i);
  return bytes;
}

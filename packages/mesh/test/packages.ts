import { strToU8, zipSync } from 'fflate';

/** A tetrahedron with legs of 1, volume 1/6. */
export const TETRAHEDRON =
  '<mesh><vertices><vertex x="0" y="0" z="0"/><vertex x="1" y="0" z="0"/><vertex x="0" y="1" z="0"/><vertex x="0" y="0" z="1"/></vertices>' +
  '<triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/><triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh>';

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';
const PRODUCTION = 'http://schemas.microsoft.com/3dmanufacturing/production/2015/06';
const MODEL_RELATION = 'http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel';

/** The text of a model part; `head` goes into its root element. */
export function modelXml(resources: string, build: string, head = 'unit="millimeter"'): string {
  return `<?xml version="1.0" encoding="UTF-8"?><model ${head} xmlns="${CORE}" xmlns:p="${PRODUCTION}"><resources>${resources}</resources><build>${build}</build></model>`;
}

export const CONTENT_TYPES =
  '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>';

export function relationships(...targets: readonly string[]): string {
  const each = targets.map((target, i) => `<Relationship Id="r${i}" Type="${MODEL_RELATION}" Target="${target}"/>`);
  return `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">${each.join('')}</Relationships>`;
}

/** A 3MF package of the root model and whatever else is given; `undefined` takes a usual part away. */
export function packed(
  model: string | Uint8Array,
  more: Readonly<Record<string, string | Uint8Array | undefined>> = {},
): Uint8Array {
  const parts = {
    '[Content_Types].xml': CONTENT_TYPES,
    '_rels/.rels': relationships('/3D/3dmodel.model'),
    '3D/3dmodel.model': model,
    ...more,
  };
  const entries = Object.entries(parts).flatMap(([name, part]) =>
    part === undefined ? [] : [[name, typeof part === 'string' ? strToU8(part) : part]],
  );
  return zipSync(Object.fromEntries(entries) as Record<string, Uint8Array>);
}

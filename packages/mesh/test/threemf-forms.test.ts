import { bytesSource, readMesh } from '@stonehand/mesh';
import fc from 'fast-check';
import { strToU8, zipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { CONTENT_TYPES, relationships } from './packages.ts';

// One XML document can be written in many ways. Whatever the form of each element, and wherever the pieces in which the file
// arrives (128 KB) end, the mesh is the same: plain elements are taken beside the XML reader, all others by it.

const CORE = 'http://schemas.microsoft.com/3dmanufacturing/core/2015/02';

type Form = (plain: string) => string;
const FORMS: readonly Form[] = [
  (plain) => plain,
  (plain) => plain.replaceAll('"', "'"),
  (plain) => plain.replace('/>', ' />\r\n'),
  (plain) => plain.replace('/>', `></${/^<(\w+)/.exec(plain)![1]}>`),
  (plain) => plain.replaceAll('="', '="\n '),
  (plain) => plain.replaceAll('="', ' = "'),
  (plain) => plain.replace('/>', ' q:a=">"/>'),
  (plain) => plain.replace(/^<(\w+)/, '<c:$1'),
  (plain) => `<!-- ${plain} -->${plain}`,
  (plain) => `<!-- > ${plain}${plain}\n-->${plain}`,
  (plain) => `<q:more>${plain}<vertices>${plain}</vertices></q:more>${plain}`,
  (plain) => `<?pi ${plain}?>${plain}`,
  (plain) => `<![CDATA[${plain}>]]>${plain}`,
  (plain) => `<q:a xmlns="urn:q">${plain}</q:a>${plain}`,
];

const LISTS: readonly (readonly [string, string])[] = [
  ['<vertices>', '</vertices>'],
  ['<c:vertices>', '</c:vertices>'],
  ['<vertices q:a="1">', '</vertices>'],
];

function packed(model: string): Uint8Array {
  return zipSync(
    {
      '[Content_Types].xml': strToU8(CONTENT_TYPES),
      '_rels/.rels': strToU8(relationships('/a.model')),
      'a.model': strToU8(model),
    },
    { level: 0 },
  );
}

describe('forms of one 3MF model', () => {
  test('vertices and triangles in any mixture of forms give the same mesh', async () => {
    const forms = fc.array(fc.nat({ max: FORMS.length - 1 }), { minLength: 1, maxLength: 6 });
    await fc.assert(
      fc.asyncProperty(forms, fc.nat({ max: 2 }), fc.nat({ max: 4000 }), async (chosen, list, shift) => {
        const count = 2000;
        const form = (i: number, plain: string): string =>
          i % 3 > 0 ? plain : FORMS[chosen[(i / 3) % chosen.length]!]!(plain);
        const vertices = Array.from({ length: count }, (_, i) =>
          form(i, `<vertex x="${i}" y="${(i * i) % 977}" z=".5e1"/>`),
        );
        const triangles = Array.from({ length: count - 2 }, (_, i) =>
          form(i, `<triangle v1="${i}" v2="${i + 1}" v3="${i + 2}" pid="5" p1="0"/>`),
        );
        const [start, end] = LISTS[list]!;
        const mesh = `<mesh>${start}${vertices.join('\n')}${end}<triangles>${triangles.join('')}</triangles></mesh>`;
        const model = `<model xmlns="${CORE}" xmlns:c="${CORE}" xmlns:q="urn:q"><!-- ${' '.repeat(shift)} --><resources><object id="1">${mesh}</object></resources><build><item objectid="1"/></build></model>`;
        const read = await readMesh(bytesSource('a.3mf', packed(model)));
        expect(read.mesh.triangles).toEqual(
          Uint32Array.from({ length: 3 * (count - 2) }, (_, k) => Math.floor(k / 3) + (k % 3)),
        );
        expect(read.mesh.positions).toEqual(
          Float64Array.from({ length: 3 * count }, (_, k) => {
            const i = Math.floor(k / 3);
            return [i, (i * i) % 977, 5][k % 3]!;
          }),
        );
        expect(read.notes.map(({ code }) => code)).toEqual(['brokenEdges']); // a strip is open
      }),
      { seed: 34, numRuns: 25 },
    );
  });

  test('lines are counted through plain elements, and what follows a default namespace of another is not taken', async () => {
    const points = '<vertex x="0" y="0" z="0"/>\n'.repeat(7);
    const model = (vertices: string): string =>
      `<model xmlns="${CORE}" xmlns:c="${CORE}"><resources><object id="1"><mesh>${vertices}<triangles><triangle v1="0" v2="1" v3="7"/></triangles></mesh></object></resources><build><item objectid="1"/></build></model>`;
    const lines = packed(model(`<vertices>\n${points}</vertices>`));
    await expect(readMesh(bytesSource('a.3mf', lines))).rejects.toThrow(
      /a\.model line 9: a triangle names vertex 7; there are 7,/,
    );
    const other = packed(model(`<c:vertices xmlns="urn:q">\n${points}<c:vertex x="1" y="2" z="3"/></c:vertices>`));
    await expect(readMesh(bytesSource('a.3mf', other))).rejects.toThrow(/names vertex 1; there are 1,/);
  });
});

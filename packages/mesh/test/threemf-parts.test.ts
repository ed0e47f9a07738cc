import { bytesSource, type MeshFile, massProperties, readMesh } from '@stonehand/mesh';
import { describe, expect, test } from 'vitest';
import { CONTENT_TYPES, modelXml, packed, relationships, TETRAHEDRON } from './packages.ts';

// 3MF production extension 1.1 and the package rules of core 1.4.0; section numbers are in the messages.

const OBJECT = `<object id="1">${TETRAHEDRON}</object>`;
const REQUIRES = 'unit="millimeter" requiredextensions="p"';
const OTHER = {
  '3D/other.model': modelXml(OBJECT, ''),
  '3D/_rels/3dmodel.model.rels': relationships('/3D/other.model'),
};

function inOther(
  more: Readonly<Record<string, string | undefined>> = {},
  head = REQUIRES,
  path = '/3D/other.model',
): Uint8Array {
  return packed(modelXml('', `<item objectid="1" p:path="${path}" transform="2 0 0 0 1 0 0 0 1 0 0 0"/>`, head), {
    ...OTHER,
    ...more,
  });
}

async function read(bytes: Uint8Array): Promise<MeshFile> {
  return readMesh(bytesSource('a.3mf', bytes));
}

describe('objects in other parts of the package', () => {
  test('an item of another part is placed by its transform', async () => {
    const { mesh, notes } = await read(inOther());
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(2 / 6, 14);
    expect(notes).toEqual([]);
  });

  test('a component of another part, a mirrored one among them, keeps its volume positive', async () => {
    const components =
      '<object id="7"><components><component objectid="1" p:path="/3D/other.model"/><component objectid="1" p:path="/3D/other.model" transform="-1 0 0 0 1 0 0 0 1 -5 0 0"/></components></object>';
    const { mesh } = await read(packed(modelXml(components, '<item objectid="7"/>', REQUIRES), OTHER));
    expect(massProperties(mesh).volumeMm3).toBeCloseTo(2 / 6, 14);
    expect(massProperties(mesh).boxMm).toEqual({ min: [-6, 0, 0], max: [1, 1, 1] });
  });

  test('the build of another part is passed over, whatever it names', async () => {
    const other = modelXml(OBJECT, '<item objectid="99"/><item objectid="1"/>');
    const { mesh } = await read(inOther({ '3D/other.model': other }));
    expect(mesh.triangles.length / 3).toBe(4);
  });

  test('a part in another unit is read in its own, with a doubt', async () => {
    const other = modelXml(OBJECT, '', 'unit="inch"');
    const { mesh, unit, notes } = await read(inOther({ '3D/other.model': other }));
    expect(unit).toBe('millimeter');
    expect(massProperties(mesh).volumeMm3).toBeCloseTo((2 / 6) * 25.4 ** 3, 9);
    expect(notes.map(({ code, severity }) => [code, severity])).toEqual([['mixedUnits', 'doubt']]);
  });

  test('paths without the extension being required are read and noted', async () => {
    const { notes } = await read(inOther({}, 'unit="millimeter"'));
    expect(notes.map(({ code }) => code)).toEqual(['undeclaredPaths']);
  });

  const deeper = modelXml(
    '<object id="1"><components><component objectid="1" p:path="/3D/x.model"/></components></object>',
    '',
  );
  const refused: readonly (readonly [string, Uint8Array, RegExp])[] = [
    [
      'a part that only the package root names',
      inOther({ '3D/_rels/3dmodel.model.rels': undefined }),
      /no relationship of \/3D\/3dmodel\.model names the part \/3D\/other\.model.* \(3MF production 3\.3\)/,
    ],
    [
      'a part that is not there',
      inOther({ '3D/other.model': undefined }),
      /not in the package \(3MF production 3\.3\)/,
    ],
    ['an object that is not in the part', inOther({ '3D/other.model': modelXml('', '') }), /object 1, which is not in/],
    ['a path that is not absolute', inOther({}, REQUIRES, '3D/other.model'), /is not absolute \(3MF production 3\.1\)/],
    [
      'a part that names a further part',
      inOther({ '3D/other.model': deeper }),
      /only the root model may \(3MF production 3\.2\)/,
    ],
    [
      'a root model that names itself as another part',
      inOther({ '3D/_rels/3dmodel.model.rels': relationships('/3D/3dmodel.model') }, REQUIRES, '/3D/3dmodel.model'),
      /names itself as another part/,
    ],
  ];
  for (const [what, bytes, message] of refused) {
    test(`${what} is refused`, async () => {
      await expect(read(bytes)).rejects.toThrow(message);
    });
  }
});

describe('package rules', () => {
  const model = modelXml(OBJECT, '<item objectid="1"/>');

  test('the model is found by its relationship, relative targets and any case included', async () => {
    const parts = { '3D/3dmodel.model': undefined, 'a/Part.model': model };
    for (const target of ['/a/Part.model', 'a/part.MODEL', './a/../a/Part.model']) {
      const { mesh } = await read(packed(model, { ...parts, '_rels/.rels': relationships(target) }));
      expect(mesh.triangles.length / 3).toBe(4);
    }
  });

  test('a content type by part name wins over the one by extension', async () => {
    const types = CONTENT_TYPES.replace(
      '</Types>',
      '<Override PartName="/3D/3dmodel.model" ContentType="image/png"/></Types>',
    );
    await expect(read(packed(model, { '[Content_Types].xml': types }))).rejects.toThrow(
      /content type image\/png \(3MF core C\.1\)/,
    );
  });

  const refused: readonly (readonly [string, Uint8Array, RegExp])[] = [
    ['no content types', packed(model, { '[Content_Types].xml': undefined }), /has no \[Content_Types\]\.xml/],
    [
      'a model without a content type',
      packed(model, { '[Content_Types].xml': CONTENT_TYPES.replace('"model"', '"other"') }),
      /has no content type \(3MF core C\.1\)/,
    ],
    [
      'a start part that is not there',
      packed(model, { '_rels/.rels': relationships('/3D/x.model') }),
      /is not in the package \(3MF core 2\.1\.1\)/,
    ],
    [
      'a target that leads out of the package',
      packed(model, { '_rels/.rels': relationships('../../x.model') }),
      /not inside the package \(3MF core 2\.1\)/,
    ],
    [
      'a target on another machine',
      packed(model, { '_rels/.rels': relationships('https://a.example/x.model') }),
      /not inside the package/,
    ],
    ['two parts of one name', packed(model, { '3D/3DMODEL.model': model }), /two parts are named/],
    [
      'an object with a mesh and components',
      packed(
        modelXml(
          `${OBJECT}<object id="2">${TETRAHEDRON}<components><component objectid="1"/></components></object>`,
          '',
        ),
      ),
      /components beside mesh.* \(3MF core 4\)/,
    ],
    [
      'one id for a material and an object',
      packed(modelXml(`<basematerials id="1"><base name="a" displaycolor="#000000"/></basematerials>${OBJECT}`, '')),
      /object 1 is defined twice \(3MF core 3\.4\.2\)/,
    ],
  ];
  for (const [what, bytes, message] of refused) {
    test(`${what}: refused`, async () => {
      await expect(read(bytes)).rejects.toThrow(message);
    });
  }

  test('materials are kept as names; what the standard does not know is passed over with a doubt; a flat transform too', async () => {
    const resources = `<basematerials id="5"><base name="grey" displaycolor="#808080"/><base name="clear &amp; soft" displaycolor="#80808080"/></basematerials>${OBJECT.replace('<triangles>', '<triangles><polygon v1="0"/>')}`;
    const build = '<item objectid="1"/><item objectid="1" transform="1 0 0 0 1 0 0 0 0 0 0 9"/>';
    const { materials, notes } = await read(packed(modelXml(resources, build)));
    expect(materials).toEqual(['grey', 'clear & soft']);
    expect(notes.map(({ code, severity, count }) => [code, severity, count])).toEqual([
      ['unknownElements', 'doubt', 1],
      ['flattening', 'doubt', 1],
    ]);
  });

  test('extensions: a required one that is unknown is refused, a recommended one noted', async () => {
    const head = (kind: string): string => `unit="millimeter" xmlns:q="urn:made-up" ${kind}="q"`;
    const refusedModel = modelXml(OBJECT, '<item objectid="1"/>', head('requiredextensions'));
    await expect(read(packed(refusedModel))).rejects.toThrow(/requires the extension urn:made-up.* \(3MF core 3\.4\)/);
    const noted = await read(packed(modelXml(OBJECT, '<item objectid="1"/>', head('recommendedextensions'))));
    expect(noted.notes.map(({ code }) => code)).toEqual(['unreadExtensions']);
  });
});

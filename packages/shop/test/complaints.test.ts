import { mkdir, rm, symlink, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { StonehandError } from '@stonehand/base';
import { loadWorkspace, loadWorkspaceProblems } from '@stonehand/shop';
import { describe, expect, test } from 'vitest';
import { folderWith, SMALL } from './folder.ts';

interface Broken {
  readonly what: string;
  readonly file: string;
  readonly text: string;
  readonly message: string;
  readonly remedy: string | RegExp;
  readonly code?: string;
}

const ASSEMBLY = SMALL['lantern/assembly.yaml']!;

/** Lines before what a case adds. */
const LINES = ASSEMBLY.split('\n').length - 1;

const BROKEN: readonly Broken[] = [
  {
    what: 'a mistyped key',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  margn: 4\n',
    message: 'shop/printers.yaml:3:3 unknown key "margn"',
    remedy: 'Did you mean "margin"?',
  },
  {
    what: 'a moment in no unit of one',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}limits:\n  moments:\n    lid: { at: [0, 0, 0], axis: x, most: 6 kg }\n`,
    message: `lantern/assembly.yaml:${LINES + 3}:42 "most": "6 kg" is not a moment`,
    remedy: /N m, N cm, N mm, kg cm, oz in or lb in/,
    code: 'UNIT_INVALID',
  },
  {
    what: 'a place for ballast that is nowhere',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}ballast:\n  places:\n    foot: { most: 20 }\n`,
    message: `lantern/assembly.yaml:${LINES + 3}:5 a place needs a point, or two corners`,
    remedy: 'Write at, or from and to.',
  },
  {
    what: 'a key that is like none',
    file: 'shop/hardware.yaml',
    text: 'buckle: { mass: 38, zzzzzz: 1 }\n',
    message: 'shop/hardware.yaml:1:21 unknown key "zzzzzz"',
    remedy: /^Known here: name, mass, magnetic/,
  },
  {
    what: 'a missing key',
    file: 'shop/materials.yaml',
    text: 'white-abs:\n  kind: ABS\ngrey-petg: { kind: PETG, colour: grey }\n',
    message: 'shop/materials.yaml:1:1 "white-abs" has no "colour"',
    remedy: 'Add "colour".',
  },
  {
    what: 'a negative length',
    file: 'shop/recipes.yaml',
    text: 'shell:\n  brim: -2\n',
    message: 'shop/recipes.yaml:2:9 "brim" is -2, but must not be less than 0',
    remedy: /mm, cm, m, in or ft/,
  },
  {
    what: 'a negative length with a unit',
    file: 'shop/recipes.yaml',
    text: 'shell:\n  brim: -1/8 in\n',
    message: 'shop/recipes.yaml:2:9 "brim" is -1/8 in, but must not be less than 0',
    remedy: 'Write 0 or more.',
  },
  {
    what: 'a length in an unknown unit',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  margin: 5 furlong\n',
    message: 'shop/printers.yaml:3:11 "margin": "5 furlong" is not a length',
    remedy: /mm, cm, m, in or ft/,
    code: 'UNIT_INVALID',
  },
  {
    what: 'a mass in a unit of length',
    file: 'shop/spools.yaml',
    text: 'S1: { material: white-abs, net: 12 mm }\n',
    message: 'shop/spools.yaml:1:33 "net": "12 mm" is not a mass',
    remedy: /g, kg, oz or lb/,
    code: 'UNIT_INVALID',
  },
  {
    what: 'a duration without a unit',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  warmUp: 5\n',
    message: 'shop/printers.yaml:3:11 "warmUp": "5" is not a duration: its unit is missing',
    remedy: /12 min, 20 h or 9 h 30/,
    code: 'TIME_INVALID',
  },
  {
    what: 'a share above the whole',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  failures: { perStart: 3 }\n',
    message: 'shop/printers.yaml:3:25 "perStart" is 3, but must not be more than 1',
    remedy: /15 % or 0.15/,
  },
  {
    what: 'a volume with two sizes',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220\n',
    message: 'shop/printers.yaml:2:11 "220 x 220" is not a build volume: 3 sizes are needed, 2 given',
    remedy: /220x220x250/,
    code: 'UNIT_INVALID',
  },
  {
    what: 'a margin that leaves nothing',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  margin: 110\n',
    message: 'shop/printers.yaml:3:11 a margin of 110 mm leaves nothing of the plate',
    remedy: 'Make the margin smaller.',
  },
  {
    what: 'a mistyped choice',
    file: 'shop/printers.yaml',
    text: 'bench:\n  volume: 220 x 220 x 250\n  has: [enclosur]\n',
    message: 'shop/printers.yaml:3:9 "0" is "enclosur", but must be enclosure, hardNozzle or slowFeed',
    remedy: 'Did you mean "enclosure"?',
  },
  {
    what: 'an unknown kind of filament',
    file: 'shop/materials.yaml',
    text: 'white-abs: { kind: ABS, colour: white }\nred: { kind: PTEG, colour: red }\n',
    message: 'shop/materials.yaml:2:14 there is no built-in kind "PTEG"',
    remedy: 'Did you mean "PETG"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a name defined twice',
    file: 'shop/materials.yaml',
    text: 'white-abs: { kind: ABS, colour: white }\nwhite-abs: { kind: ASA, colour: white }\n',
    message: 'shop/materials.yaml:2:1 "white-abs" is there twice',
    remedy: 'Keep one of the two, or rename one.',
    code: 'DATA_DUPLICATE',
  },
  {
    what: 'an id with a blank',
    file: 'shop/materials.yaml',
    text: 'white abs: { kind: ABS, colour: white }\n',
    message: 'shop/materials.yaml:1:1 "white abs" cannot be used as a name here',
    remedy: /Letters, digits, dot/,
  },
  {
    what: 'text that is not YAML',
    file: 'shop/recipes.yaml',
    text: 'shell:\n  layer: [0.2\n',
    message:
      'shop/recipes.yaml:3:1 is not YAML: Flow sequence in block collection must be sufficiently indented and end with a ]',
    remedy: /Mind the indent/,
    code: 'YAML_SYNTAX',
  },
  {
    what: 'layers higher than the bead is wide',
    file: 'shop/recipes.yaml',
    text: 'shell: { layer: 0.5 }\n',
    message: 'shop/recipes.yaml:1:17 layers of 0.5 mm do not go with beads 0.45 mm wide',
    remedy: /lower than the bead is wide/,
  },
  {
    what: 'an infill of an unknown pattern',
    file: 'shop/recipes.yaml',
    text: 'shell: { infill: 15 % spiral }\n',
    message: 'shop/recipes.yaml:1:18 "15 % spiral" is not an infill',
    remedy: /lines, grid, gyroid/,
  },
  {
    what: 'a spool of an unknown material',
    file: 'shop/spools.yaml',
    text: 'S1: { material: white-asb, net: 300 }\n',
    message: 'shop/spools.yaml:1:17 there is no material "white-asb"',
    remedy: 'Did you mean "white-abs"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a spool lighter than its empty self',
    file: 'shop/spools.yaml',
    text: 'S1: { material: white-abs, gross: 100, empty: plastic }\n',
    message: 'shop/spools.yaml:1:35 100 g is less than the empty spool (180 g)',
    remedy: 'Weigh the whole spool, or write net.',
  },
  {
    what: 'a spool both net and gross',
    file: 'shop/spools.yaml',
    text: 'S1: { material: white-abs, gross: 600, net: 400 }\n',
    message: 'shop/spools.yaml:1:1 both net and gross are given',
    remedy: /net, the filament left/,
  },
  {
    what: 'spans of a day that overlap',
    file: 'shop/hours.yaml',
    text: 'week:\n  mon: 08:00-12:00 present, 11:00-13:00 away\n',
    message: 'shop/hours.yaml:2:8 "mon": 08:00-12:00 present and 11:00-13:00 away overlap',
    remedy: 'Each moment can be in one span only.',
    code: 'TIME_INVALID',
  },
  {
    what: 'a day named twice',
    file: 'shop/hours.yaml',
    text: 'week:\n  mon-fri: away\n  wed: present\n',
    message: 'shop/hours.yaml:3:3 "wed" is there twice',
    remedy: 'Name each day once.',
    code: 'DATA_DUPLICATE',
  },
  {
    what: 'a date that does not exist',
    file: 'shop/hours.yaml',
    text: 'dates:\n  2026-02-30: away\n',
    message: 'shop/hours.yaml:2:3 "2026-02-30" is not a date or a run of dates',
    remedy: /2026-06-10 to 2026-06-14/,
    code: 'TIME_INVALID',
  },
  {
    what: 'a time zone that does not exist',
    file: 'stonehand.yaml',
    text: 'name: Lantern\ntimeZone: Europe/Berlim\n',
    message: 'stonehand.yaml:2:11 there is no time zone "Europe/Berlim"',
    remedy: 'Did you mean "Europe/Berlin"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a deadline on a day that does not exist',
    file: 'stonehand.yaml',
    text: 'name: Lantern\ntimeZone: UTC\ndeadline: 2026-06-31 10:00\n',
    message: 'stonehand.yaml:3:11 there is no 2026-06-31 10:00',
    remedy: /2026-06-05 18:00/,
    code: 'TIME_INVALID',
  },
  {
    what: 'a default that is not defined',
    file: 'stonehand.yaml',
    text: 'name: Lantern\ntimeZone: UTC\ndefaults:\n  recipe: shel\n',
    message: 'stonehand.yaml:4:11 there is no recipe "shel"',
    remedy: 'Did you mean "shell"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a part of an unknown material',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    material: gray-petg\n',
    message: 'lantern/assembly.yaml:4:15 there is no material "gray-petg"',
    remedy: 'Did you mean "grey-petg"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a part on an unknown printer',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    printers: [bench, bech]\n',
    message: 'lantern/assembly.yaml:4:23 there is no printer "bech"',
    remedy: 'Did you mean "bench"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a mesh that is not there',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: fram.stl\n',
    message: 'lantern/assembly.yaml:3:11 there is no lantern/fram.stl',
    remedy: 'Did you mean "frame.stl"?',
    code: 'FILE_MISSING',
  },
  {
    what: 'a mesh outside the workspace',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: ../../frame.stl\n',
    message: 'lantern/assembly.yaml:3:11 "../../frame.stl" leads outside the workspace',
    remedy: /Copy the mesh into the workspace/,
    code: 'FILE_OUTSIDE',
  },
  {
    what: 'a mesh by its absolute path',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: /etc/hostname\n',
    message: 'lantern/assembly.yaml:3:11 "/etc/hostname" leads outside the workspace',
    remedy: /Copy the mesh into the workspace/,
    code: 'FILE_OUTSIDE',
  },
  {
    what: 'a quantity of nothing',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    quantity: 0\n',
    message: 'lantern/assembly.yaml:4:15 "quantity" is 0, but must not be less than 1',
    remedy: 'Default 1.',
  },
  {
    what: 'a negative quantity',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    quantity: -2\n',
    message: 'lantern/assembly.yaml:4:15 "quantity" is -2, but must not be less than 1',
    remedy: 'Default 1.',
  },
  {
    what: 'more places than copies',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    places: [[0, 0, 0], [1, 0, 0]]\n',
    message: 'lantern/assembly.yaml:4:13 2 places for one copy',
    remedy: 'Write quantity: 2, or take places away.',
  },
  {
    what: 'a place with two coordinates',
    file: 'lantern/assembly.yaml',
    text: 'parts:\n  frame:\n    mesh: frame.stl\n    place: { at: [0, 10] }\n',
    message: 'lantern/assembly.yaml:4:18 "at" has 2 entries, but must have at least 3',
    remedy: 'x, y and z.',
  },
  {
    what: 'an unknown bought item',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}hardware:\n  M3x10 socket scew: 4\n`,
    message: 'lantern/assembly.yaml:8:3 there is no bought item "M3x10 socket scew"',
    remedy: 'Did you mean "M3x10 socket screw"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a joint to a part that is not there',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}joints:\n  hinge: { kind: turning, between: [frame, lidd], at: [0, 0, 0] }\n`,
    message: 'lantern/assembly.yaml:8:44 there is no part "lidd"',
    remedy: 'Did you mean "lid"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'a child assembly that is not there',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}assemblies:\n  lamp: {}\n`,
    message: 'lantern/assembly.yaml:8:3 there is no lantern/lamp/assembly.yaml',
    remedy: 'Create it, or correct the folder.',
    code: 'FILE_MISSING',
  },
  {
    what: 'an assembly inside itself',
    file: 'lantern/assembly.yaml',
    text: `${ASSEMBLY}assemblies:\n  ../lantern: {}\n`,
    message: 'lantern/assembly.yaml:8:3 the assembly lantern is listed already, in stonehand.yaml',
    remedy: /List each folder once/,
    code: 'DATA_DUPLICATE',
  },
  {
    what: 'an accepted pose of a part that is gone',
    file: 'accepted.yaml',
    text: 'poses:\n  lantern/fram:\n    turn: [0, 0, 0]\n',
    message: 'accepted.yaml:2:3 there is no part or piece "lantern/fram"',
    remedy: 'Did you mean "lantern/frame"?',
    code: 'DATA_UNKNOWN',
  },
  {
    what: 'an accepted pose that mirrors',
    file: 'accepted.yaml',
    text: 'poses:\n  lantern/frame:\n    rotation: [-1, 0, 0, 0, 1, 0, 0, 0, 1]\n',
    message: 'accepted.yaml:2:3 the pose has no rotation that is one',
    remedy: /nine numbers of a rotation/,
  },
  {
    what: 'an accepted copy beyond the quantity',
    file: 'accepted.yaml',
    text: 'plates:\n  - printer: bench\n    placed: [{ copy: "lantern/frame#3", x: 0, y: 0 }]\n',
    message: 'accepted.yaml:3:22 there is no copy 3 of lantern/frame, only 2',
    remedy: 'Remove it, or raise the quantity.',
    code: 'DATA_UNKNOWN',
  },
];

describe('each broken input is one clear line', () => {
  test.each(BROKEN)('$what', async ({ file, text, message, remedy, code = 'DATA_INVALID' }) => {
    const root = await folderWith({ ...SMALL, [file]: text });
    const faults = await loadWorkspaceProblems(root);
    expect(faults.map((fault) => fault.message)).toEqual([message]);
    expect(faults[0]!.code).toBe(code);
    if (typeof remedy === 'string') expect(faults[0]!.remedy).toBe(remedy);
    else expect(faults[0]!.remedy).toMatch(remedy);
    expect(`${faults[0]!.message}${faults[0]!.remedy}`).not.toContain('\n');
    const [line, column] = message
      .split(':')
      .slice(1)
      .map((part) => Number.parseInt(part, 10));
    expect(faults[0]).toMatchObject({ line, column });
    await expect(loadWorkspace(root)).rejects.toThrow(message);
  });
});

describe('many complaints', () => {
  test('are all collected, in the order of files and lines', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/printers.yaml': 'bench:\n  volume: 220 x 220 x 250\n  margin: -1\n  flow: fast\n  colour: red\n',
      'shop/spools.yaml': 'S1: { material: nothing-like-it, net: 1 }\n',
      'lantern/assembly.yaml': 'parts:\n  frame: { mesh: gone.stl, recipe: gone }\n',
    });
    const faults = await loadWorkspaceProblems(root);
    expect(faults.map((fault) => fault.message.split(' ')[0])).toEqual([
      'shop/printers.yaml:3:11',
      'shop/printers.yaml:4:9',
      'shop/printers.yaml:5:3',
      'shop/spools.yaml:1:17',
      'lantern/assembly.yaml:2:18',
      'lantern/assembly.yaml:2:36',
    ]);
    await expect(loadWorkspace(root)).rejects.toThrow('(and 5 more)');
  });

  test('names that a broken file would define are not called unknown', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/materials.yaml': 'white-abs: { kind: ABS\n',
      'shop/spools.yaml': 'S1: { material: grey-petg, net: 1 }\n',
    });
    const codes = (await loadWorkspaceProblems(root)).map((fault) => fault.code);
    expect(new Set(codes)).toEqual(new Set(['YAML_SYNTAX']));
  });
});

describe('what the files cannot say themselves', () => {
  test('a folder without stonehand.yaml is no workspace', async () => {
    const error = await loadWorkspace(await folderWith({})).catch((cause: unknown) => cause);
    expect(error).toBeInstanceOf(StonehandError);
    expect(error).toMatchObject({ code: 'FILE_MISSING' });
  });

  test('a link to a mesh outside is refused, one inside is not', async () => {
    const outside = await folderWith({ 'secret.stl': '' });
    const root = await folderWith(SMALL);
    await rm(join(root, 'lantern/frame.stl'));
    await symlink(join(root, 'lantern/lid.stl'), join(root, 'lantern/frame.stl'));
    expect(await loadWorkspaceProblems(root)).toEqual([]);
    await rm(join(root, 'lantern/frame.stl'));
    await symlink(join(outside, 'secret.stl'), join(root, 'lantern/frame.stl'));
    expect(await loadWorkspaceProblems(root)).toMatchObject([
      {
        code: 'FILE_OUTSIDE',
        message: 'lantern/assembly.yaml:3:11 lantern/frame.stl is a link that leads outside the workspace',
      },
    ]);
  });

  test('a folder in place of a mesh is no mesh', async () => {
    const root = await folderWith(SMALL);
    await rm(join(root, 'lantern/lid.stl'));
    await mkdir(join(root, 'lantern/lid.stl'));
    expect(await loadWorkspaceProblems(root)).toMatchObject([{ code: 'FILE_UNREADABLE' }]);
  });

  test('names that objects have by nature are ordinary names', async () => {
    const root = await folderWith({
      ...SMALL,
      'shop/materials.yaml': 'constructor: { kind: toString, colour: red }\n',
      'shop/spools.yaml': 'S1: { material: hasOwnProperty, gross: 400, empty: constructor }\n',
    });
    const messages = (await loadWorkspaceProblems(root)).map((fault) => fault.message);
    expect(messages).toEqual([
      'shop/materials.yaml:1:22 there is no built-in kind "toString"',
      'shop/spools.yaml:1:17 there is no material "hasOwnProperty"',
      'shop/spools.yaml:1:52 "constructor" is neither a mass nor a kind of empty spool',
    ]);
  });

  test('aliases of aliases do not unfold without end', async () => {
    const lines = ['a0: &a0 [x, x, x, x, x, x, x, x, x, x]'];
    for (let i = 1; i < 9; i++)
      lines.push(
        `a${i}: &a${i} [${Array(10)
          .fill(`*a${i - 1}`)
          .join(', ')}]`,
      );
    const root = await folderWith(SMALL);
    await writeFile(join(root, 'shop/hardware.yaml'), lines.join('\n'));
    expect((await loadWorkspaceProblems(root))[0]).toMatchObject({
      code: 'YAML_SYNTAX',
      message: /^shop\/hardware.yaml:1:1 /,
    });
  });
});

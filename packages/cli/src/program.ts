import { parseLengthMm, StonehandError } from '@stonehand/base';
import { programVersion } from '@stonehand/engine';
import { Command, type CommanderError, InvalidArgumentError, Option } from 'commander';
import { type CommonOptions, type Context, openContext } from './context.ts';

/** A verb's work: returns the exit code. Loaded only when the verb is called. */
export type Verb<O> = (names: readonly string[], options: O & CommonOptions, context: Context) => Promise<number>;

/** The command line: what each verb takes, and help with an example. The work itself lies in verbs/. */
export function buildProgram(): Command {
  const program = new Command('stonehand')
    .description(
      'Plans the printing of things built out of dozens of parts: what fits which bed, which way up, grams and hours, plates, a queue around your days, what to buy, what it weighs.',
    )
    .version(programVersion(), '--version', 'print the version')
    .helpOption('-h, --help', 'show this help')
    .showHelpAfterError('  See the same command with --help.')
    .configureHelp({ sortSubcommands: false })
    .exitOverride(asUsageError)
    .addHelpText(
      'after',
      '\nExamples:\n  stonehand fit ~/models --bed 220x220x250     what fits a bed, no set-up needed\n  stonehand init ~/models                      make a workspace of a folder of meshes\n  stonehand plan --from "fri 18:00" --to "sun 22:00"\n',
    );

  verb(program, 'init [folder]', 'make a workspace of a folder of mesh files', 'stonehand init ~/models/heron', () =>
    import('./verbs/init.ts').then((m) => m.init),
  ).option('--unit <unit>', 'unit of files that state none (mm, cm, m, in, ft)');
  verb(
    program,
    'measure <files...>',
    'what each mesh file is: size, volume, area, centre, inertia, closed or not, what is wrong',
    'stonehand measure parts/*.stl --json',
    () => import('./verbs/measure.ts').then((m) => m.measure),
  )
    .option('--unit <unit>', 'unit of files that state none (mm, cm, m, in, ft)')
    .option('--sections <heights>', 'area and outline length at these heights in mm, with commas between', numbers)
    .option('--second-reading', 'let an independent library read STL files too, and compare')
    .option('--thorough', 'look for self-intersections and overlapping bodies too')
    .option('--thin <mm>', 'tell of walls thinner than this', millimetres)
    .option('--repair <folder>', 'write a mended copy of each file, as STL');
  verb(
    program,
    'check [workspace]',
    'everything that is wrong or doubtful: workspace files, meshes, limits, bought items in their bores, joints, parts in place',
    'stonehand check',
    () => import('./verbs/check.ts').then((m) => m.check),
  );
  verb(
    program,
    'fit [path]',
    'which parts fit which bed: as they are, turned, tipped, split or not at all',
    'stonehand fit ~/models --bed 220x220x250',
    () => import('./verbs/fit.ts').then((m) => m.fit),
  )
    .option('--bed <size>', "bed instead of the workspace's printers: WxDxH or round:DxH, in mm")
    .option('--unit <unit>', 'unit of files that state none')
    .option('--pose <rule>', "asModelled: figures of the file's own pose only")
    .option('--weights <what>', 'support: the way up that needs least support, whatever else')
    .option('--out <folder>', 'write a page with pictures of every part on its bed, and GLB models');
  verb(
    program,
    'split <part>',
    'where to cut a part that fits no bed, the joints that hold it together, and the pieces',
    'stonehand split back-shell --on loft --out pieces',
    () => import('./verbs/split.ts').then((m) => m.split),
  )
    .option('--bed <size>', 'bed to fit: WxDxH or round:DxH, in mm')
    .option('--on <printer>', 'printer of the workspace to fit')
    .option('--pieces <n>', 'so many pieces', wholeNumber)
    .option('--cut <planes...>', 'cuts to make in any case: x=120, or a direction 0.8,0,0.6=35 (mm, in the part)')
    .option('--spare <boxes...>', 'boxes no cut may go through: 0,0,0:50,20,20')
    .addOption(
      new Option('--joint <kind>', 'kind of joint; default: what each section allows').choices([
        'auto',
        'flange',
        'dowel',
        'key',
        'butt',
        'none',
      ]),
    )
    .option('--gap <mm>', 'free space around pins and keys, on each side (default: 0.1 mm)', gapMm)
    .option('--glue-gap <mm>', 'taken off each cut face for glue (default: 0.1 mm)', gapMm)
    .option('--anew', 'search again although cuts are accepted')
    .option('--hollow <wall>', 'instead of cutting: take out the inside behind a wall so thick', millimetres)
    .option('--out <folder>', 'write the pieces here')
    .option('--unit <unit>', 'unit of a file that states none');
  verb(
    program,
    'prove <part>',
    'a test piece around a bore, to print before the whole part: STL, grams, minutes',
    'stonehand prove neck-yoke --item "608 bearing" --out pieces',
    () => import('./verbs/prove.ts').then((m) => m.prove),
  )
    .option('--item <name>', 'the bought item that sits in the bore (default: the first that the part states)')
    .option('--at <x,y,z>', "the bore nearest to this place, in the mesh's own coordinates", numbers)
    .option('--around <mm>', 'wall left around it (default: 5 mm)', millimetres)
    .option('--out <folder>', 'where to write (default: here)')
    .option('--unit <unit>', 'unit of a file that states none');
  verb(
    program,
    'estimate [files...]',
    'grams, metres and hours from real bead paths',
    'stonehand estimate skull.stl --material PETG',
    () => import('./verbs/estimate.ts').then((m) => m.estimate),
  )
    .option('--recipe <id>', 'recipe of the workspace, or the built-in one')
    .option('--printer <id>', 'printer of the workspace')
    .option('--material <id>', 'material of the workspace, or a built-in kind')
    .option('--unit <unit>', 'unit of files that state none')
    .option('--bed <size>', 'a plain printer with this bed instead')
    .addOption(
      new Option(
        '--depth <depth>',
        'full: every layer; quick: plastic within 0.05 % of full, time within 5 %; rank (to compare): 5 % and 10 %',
      ).choices(['full', 'quick', 'rank']),
    )
    .option('--what-if', 'the same at other shares of infill, numbers of perimeters and layer heights')
    .option('--hollow <wall>', 'what hollowing behind a wall so thick would save', millimetres);
  verb(
    program,
    'plan [path]',
    'plates, queue, filament, weight and the page, for a window of time',
    'stonehand plan --from "fri 18:00" --to "sun 22:00"',
    () => import('./verbs/plan.ts').then((m) => m.plan),
  )
    .option('--from <moment>', 'start of the window ("fri 18:00", "2026-06-05 18:00", RFC 3339); default: now')
    .option('--to <moment>', 'end of the window; default: no end')
    .option('--bed <size>', 'bed when there is no workspace')
    .option('--unit <unit>', 'unit of files that state none')
    .option('--with-support', 'our support as objects of its own in the plate files, and as STL beside them')
    .option(
      '--plates <aim>',
      'surest: least expected hours with reprints; fewest plates (default: the workspace, else surest)',
    )
    .option('--seed <n>', 'seed of the searches', wholeNumber)
    .option('--layers <parts>', "bead paths of these parts' layers in the page: names with commas between")
    .option('--out <folder>', 'where to write (default: reports beside the workspace)')
    .option(
      '--what-if [parts]',
      'what a third evening, another printer or one that may run alone would change; with names of parts (commas between), those parts by other recipes in the page',
    )
    .option('--anew', 'plan without keeping to the plan that lies there');
  verb(
    program,
    'buy [workspace]',
    'filament to buy for this window and for all that remains',
    'stonehand buy --from "fri 18:00" --to "sun 22:00"',
    () => import('./verbs/buy.ts').then((m) => m.buy),
  )
    .option('--from <moment>', 'start of the window')
    .option('--to <moment>', 'end of the window');
  verb(
    program,
    'weigh [assembly]',
    'assembled mass and balance against the limits, what to print lighter, where a counterweight goes',
    'stonehand weigh heron/head --lighten --ballast',
    () => import('./verbs/weigh.ts').then((m) => m.weigh),
  )
    .option('--lighten', 'for each part the allowed recipe that keeps all limits at least hours and lost stiffness')
    .option('--lightest', 'the same, as light as the limits let it be, whatever it costs')
    .option(
      '--sure',
      'keep the limits also when all that is printed comes out at the heavy, or the light end of its interval',
    )
    .option('--stiffness <hours>', "hours of printing that a part's whole stiffness is worth (default: 10)", hours)
    .option('--ballast', 'least counterweights, and what to move, within the places the assembly allows')
    .option('--out <folder>', 'write a page with the drawings here');
  verb(
    program,
    'compare <a> <b>',
    'two revisions of a mesh, or of a whole workspace: what differs, what to print again',
    'stonehand compare heron-2025 heron-2026',
    () => import('./verbs/compare.ts').then((m) => m.compare),
  ).option('--unit <unit>', 'unit of files that state none');
  verb(
    program,
    'accept [part]',
    'keep the pose of a part, or the cuts that split proposed, or a plate of the last plan, whatever a later search finds',
    'stonehand accept heron/body/back-shell',
    () => import('./verbs/accept.ts').then((m) => m.accept),
  ).option('--plate <name>', 'a plate of the last plan, by its name or the six letters on its sheet');
  verb(
    program,
    'record [what] [names...]',
    "write down what happened: started, done, failed, weighed, spool, have, broken; or, before printing, another program's forecast. Names are parts, plates, printers or copies",
    'stonehand record failed skull --layer 140 --at "sat 08:00"',
    () => import('./verbs/record.ts').then((m) => m.record),
  )
    .option('--printer <id>', 'printer it was, or will be, printed on, when the plan does not say')
    .option('--layer <n>', 'layer at which it failed', wholeNumber)
    .option('--saved <copies...>', 'copies of a failed run that are good all the same')
    .option('--review', 'how far off the estimates were, and what is still uncalibrated')
    .option('--material <id>', 'of a trial print: the material')
    .option('--recipe <id>', 'of a trial print: the recipe')
    .option(
      '--grams <g>',
      'what it weighs: done, all plastic used; weighed, the copies as cleaned, or the filament alone on a spool',
    )
    .option('--gross <g>', 'a whole spool on the scale')
    .option('--minutes <n>', 'how long it took', wholeNumber)
    .option('--at <moment>', 'when; default: now')
    .option('--note <text>', 'anything worth keeping')
    .option('--plan <folder>', 'where the plan lies (default: reports beside the workspace)');
  verb(
    program,
    'trial',
    'three small prints, two hours together, that show what estimates of walls, infill and support are off by',
    'stonehand trial --printer loft --material white-abs --out trial-prints',
    () => import('./verbs/trial.ts').then((m) => m.trial),
  )
    .option('--printer <id>', 'printer of the workspace')
    .option('--material <id>', 'material of the workspace, or a built-in kind')
    .option('--recipe <id>', 'recipe of the workspace, or the built-in one')
    .option('--bed <size>', 'bed when there is no workspace')
    .option('--out <folder>', 'where to write the STL files (default: trial-prints)');
  verb(
    program,
    'report [plan]',
    'write the page and the other outputs again from a plan.json',
    'stonehand report reports/plan.json --out page',
    () => import('./verbs/report.ts').then((m) => m.report),
  ).option('--out <folder>', 'where to write (default: beside the plan)');
  verb(
    program,
    'pack [workspace]',
    'a folder to share: STL files, print notes, bought items, licences',
    'stonehand pack --out heron-to-share',
    () => import('./verbs/pack.ts').then((m) => m.pack),
  ).option('--out <folder>', 'where to write');
  return program;
}

function verb<O>(
  program: Command,
  usage: string,
  description: string,
  example: string,
  load: () => Promise<Verb<O>>,
): Command {
  return program
    .command(usage)
    .description(description)
    .addHelpText('after', `\nExample:\n  ${example}\n`)
    .addOption(new Option('--json', 'print JSON for machines, and nothing else'))
    .addOption(new Option('--units <system>', 'units shown').choices(['metric', 'US']))
    .option('--workers <n>', 'worker threads (default: one per core)', wholeNumber)
    .option('--fresh', 'forget earlier results')
    .option('--log', 'log in JSON on standard error')
    .option('--debug', 'show stack traces of faults')
    .exitOverride(asUsageError)
    .showHelpAfterError('  See the same command with --help.')
    .action(async (...args: unknown[]) => {
      const command = args.at(-1) as Command;
      const options = command.opts() as O & CommonOptions;
      const names = command.processedArgs.flat().filter((name): name is string => typeof name === 'string');
      const run = await load();
      const context = openContext(options);
      try {
        process.exitCode = await run(names, options, context);
      } finally {
        await context.close();
      }
    });
}

// commander prints its own message; what is left to do is the exit code.
function asUsageError(error: CommanderError): never {
  process.exit(error.exitCode === 0 ? 0 : 2);
}

function wholeNumber(text: string): number {
  const value = Number(text);
  if (!Number.isInteger(value) || value < 0) throw new InvalidArgumentError('It must be a whole number.');
  return value;
}

function hours(text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !(value >= 0)) throw new InvalidArgumentError('It must be a number of hours, 0 or more.');
  return value;
}

function millimetres(text: string): number {
  try {
    return parseLengthMm(text);
  } catch {
    throw new InvalidArgumentError('It must be a length, such as 1.2 or 1/16 in.');
  }
}

/** A length that may be 0: no gap at all. */
function gapMm(text: string): number {
  return Number(text) === 0 ? 0 : millimetres(text);
}

function numbers(text: string): number[] {
  const values = text.split(',').map(Number);
  if (values.some((value) => !Number.isFinite(value))) {
    throw new StonehandError(
      'USAGE',
      `--sections ${text}: not a list of numbers`,
      'Write heights in mm with commas between, such as 5,10,15.5.',
    );
  }
  return values;
}

import { formatMass, parseMassG, StonehandError } from '@stonehand/base';
import { allParts } from '@stonehand/engine';
import type { LedgerEntry, Plan, Spool, Workspace } from '@stonehand/model';
import { EMPTY_SPOOLS } from '@stonehand/shop';
import { pickById } from './pick-by-id.ts';
import { copyNamed, type NamedRun, runNamed, shareAtLayer } from './record-run.ts';

export type RecordOptions = Readonly<{
  layer?: number;
  saved?: readonly string[];
  grams?: string;
  gross?: string;
  review?: boolean;
  material?: string;
  recipe?: string;
  minutes?: number;
  printer?: string;
  plan?: string;
  at?: string;
  note?: string;
}>;

type Facts = Omit<LedgerEntry, 'version' | 'at' | 'what'>;
export type Told = Readonly<{ what: LedgerEntry['what']; facts: Facts; says: string }>;
export type About = Readonly<{ names: readonly string[]; options: RecordOptions; workspace: Workspace; plan?: Plan }>;

/** What each word after `record` writes down. */
export const TELL: Readonly<Record<string, (about: About) => Told>> = {
  started,
  done: (about) => ended('done', about),
  failed: (about) => ended('failed', about),
  weighed,
  spool: spoolChanged,
  have: (about) => ofCopies('have', about, 'is there'),
  broken: (about) => ofCopies('broken', about, 'broke, and is to be printed again as it was'),
  forecast: (about) => ofCopies('forecast', about, 'forecast'),
};

function started({ names, options, workspace, plan }: About): Told {
  const run = runNamed(names, { workspace, what: 'started', ...(plan === undefined ? {} : { plan }) });
  const printerId = options.printer ?? run?.printerId;
  if (printerId === undefined)
    throw new StonehandError('USAGE', `record started ${names.join(' ')}: on which printer?`, 'Add --printer.');
  pickById(workspace.printers, printerId, 'printer');
  // On another printer than planned it takes another time: the estimates know it.
  const asPlanned = run?.printerId === printerId ? run : undefined;
  const copyIds = run?.copyIds ?? names.map((name) => copyNamed(name, workspace, copiesOf(workspace, plan)));
  const facts: Facts = {
    printerId,
    copyIds,
    ...(run === undefined ? {} : { runId: run.runId, spools: run.spools }),
    ...(asPlanned === undefined
      ? {}
      : { plateId: asPlanned.plateId, durationS: asPlanned.durationS, snapshot: asPlanned.snapshot }),
  };
  return { what: 'started', facts, says: `${run?.name ?? copyIds.join(', ')} started on ${printerId}` };
}

function ended(what: 'done' | 'failed', { names, options, workspace, plan }: About): Told {
  const run = runNamed(names, { workspace, what, ...(plan === undefined ? {} : { plan }) });
  const whole = run !== undefined && names.every((name) => !name.includes('#'));
  const copies = run?.copyIds ?? copiesOf(workspace, plan);
  const copyIds =
    whole || (what === 'failed' && run !== undefined)
      ? copies
      : names.map((name) => copyNamed(name, workspace, copies));
  const savedIds = options.saved?.map((name) => copyNamed(name, workspace, copyIds));
  const spools = run === undefined ? undefined : drawn(what, run, options, plan);
  const printerId = options.printer ?? run?.printerId;
  const facts: Facts = {
    copyIds,
    ...(run === undefined ? {} : { runId: run.runId, plateId: run.plateId }),
    ...(printerId === undefined ? {} : { printerId: pickById(workspace.printers, printerId, 'printer').id }),
    ...(run?.snapshot === undefined || what === 'failed' ? {} : { snapshot: run.snapshot }),
    ...(spools === undefined || spools.length === 0 ? {} : { spools }),
    ...(savedIds === undefined ? {} : { savedIds }),
    ...(options.layer === undefined ? {} : { layer: options.layer }),
    ...(options.grams === undefined ? {} : { massG: parseMassG(options.grams) }),
  };
  return { what, facts, says: endedWords(what, { run, copyIds, savedIds, spools, layer: options.layer }) };
}

/** What a run took off its spools: the scale's figure where there is one, else as planned, up to the layer where it failed. */
function drawn(what: 'done' | 'failed', run: NamedRun, options: RecordOptions, plan?: Plan): NamedRun['spools'] {
  if (run.spools.length === 1 && options.grams !== undefined && what === 'done')
    return [{ spoolId: run.spools[0]!.spoolId, massG: parseMassG(options.grams) }];
  const share = what === 'failed' && options.layer !== undefined ? (shareAtLayer(plan, run, options.layer) ?? 1) : 1;
  return run.spools.map(({ spoolId, massG }) => ({ spoolId, massG: Math.round(10 * share * massG) / 10 }));
}

function endedWords(
  what: 'done' | 'failed',
  about: Readonly<{
    run: NamedRun | undefined;
    copyIds: readonly string[];
    savedIds: readonly string[] | undefined;
    spools: NamedRun['spools'] | undefined;
    layer: number | undefined;
  }>,
): string {
  const { run, copyIds, savedIds = [], spools = [], layer } = about;
  const name = run !== undefined && copyIds.length === run.copyIds.length ? run.name : copyIds.join(', ');
  const where = run === undefined ? '' : ` on ${run.printerId}`;
  const used = spools.map(({ spoolId, massG }) => `${formatMass(massG)} off spool ${spoolId}`);
  const rest = run?.copyIds.filter((copyId) => !copyIds.includes(copyId)) ?? [];
  const again = copyIds.length - savedIds.length;
  return [
    `${name} ${what}${where}${layer === undefined ? '' : ` at layer ${layer}`}`,
    ...used,
    ...(what === 'failed'
      ? [`${again} to print again${savedIds.length === 0 ? '' : `, ${savedIds.length} good`}`]
      : []),
    ...(rest.length === 0 ? [] : [`not recorded of the same plate, so to be printed: ${rest.join(', ')}`]),
  ].join('; ');
}

function weighed({ names, options, workspace, plan }: About): Told {
  const spool = names.length === 1 ? workspace.spools.find(({ id }) => id === names[0]) : undefined;
  const text = options.grams ?? options.gross;
  if (text === undefined)
    throw new StonehandError(
      'USAGE',
      `record weighed ${names.join(' ')}: how much?`,
      'Add --grams (of a spool: the filament alone), or --gross for a whole spool on the scale.',
    );
  if (spool === undefined) {
    const copyIds = names.map((name) => copyNamed(name, workspace, copiesOf(workspace, plan)));
    return {
      what: 'weighed',
      facts: { copyIds, massG: parseMassG(text) },
      says: `${copyIds.join(', ')}: ${formatMass(parseMassG(text))}`,
    };
  }
  const { massG, lowG, highG } = options.gross === undefined ? exactly(text) : lessEmpty(options.gross, spool);
  const between = lowG < highG ? ` (${formatMass(lowG)} to ${formatMass(highG)})` : '';
  return {
    what: 'weighed',
    facts: { spoolId: spool.id, massG, ...(lowG < highG ? { lowG, highG } : {}) },
    says: `spool ${spool.id} holds ${formatMass(massG)}${between}; ${formatMass(spool.netG)} was reckoned with`,
  };
}

function exactly(text: string): { massG: number; lowG: number; highG: number } {
  const massG = parseMassG(text);
  return { massG, lowG: massG, highG: massG };
}

/** The whole spool on the scale less the empty one, whose mass is an interval. */
function lessEmpty(gross: string, spool: Spool): { massG: number; lowG: number; highG: number } {
  const grossG = parseMassG(gross);
  const [low, high] = spool.emptyG ?? EMPTY_SPOOLS.unknown;
  return {
    massG: Math.max(0, grossG - (low + high) / 2),
    lowG: Math.max(0, grossG - high),
    highG: Math.max(0, grossG - low),
  };
}

function spoolChanged({ names, options, workspace }: About): Told {
  const spool = pickById(workspace.spools, names[0]!, 'spool');
  if (options.printer === undefined)
    throw new StonehandError('USAGE', `record spool ${spool.id}: on which printer?`, 'Add --printer.');
  const printer = pickById(workspace.printers, options.printer, 'printer');
  return {
    what: 'spoolChanged',
    facts: { spoolId: spool.id, printerId: printer.id },
    says: `spool ${spool.id} is on ${printer.id}`,
  };
}

function ofCopies(what: 'have' | 'broken' | 'forecast', about: About, words: string): Told {
  const { names, workspace, plan } = about;
  const copyIds = names.map((name) => copyNamed(name, workspace, copiesOf(workspace, plan)));
  return { what, facts: { copyIds, ...stated(about.options, workspace) }, says: `${copyIds.join(', ')} ${words}` };
}

/** A trial print is no part of the workspace: the line carries what the model said of it. */
export function ofTrial(
  what: LedgerEntry['what'],
  { names, options, workspace }: About,
  expected: LedgerEntry['expected'],
): Told {
  const facts = { copyIds: [...names], ...stated(options, workspace), ...(expected === undefined ? {} : { expected }) };
  return { what, facts, says: `${what} ${names.join(', ')}` };
}

function stated(options: RecordOptions, workspace: Workspace): Facts {
  return {
    ...(options.printer === undefined
      ? {}
      : { printerId: pickById(workspace.printers, options.printer, 'printer').id }),
    ...(options.grams === undefined ? {} : { massG: parseMassG(options.grams) }),
  };
}

/** Every copy of every part, and of the pieces that the plan cuts them into. */
function copiesOf(workspace: Workspace, plan?: Plan): string[] {
  return [...allParts(workspace.assemblies)].flatMap(({ id, quantity, spares }) => {
    const pieces =
      plan?.pieces.filter((piece) => piece.partId === id && piece.id !== id).map((piece) => piece.id) ?? [];
    return [id, ...pieces].flatMap((of) => Array.from({ length: quantity + spares }, (_, n) => `${of}#${n + 1}`));
  });
}

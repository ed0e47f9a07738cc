import { cpSync } from 'node:fs';
import { join } from 'node:path';
import type { Plan, Workspace } from '@stonehand/model';
import type { Schedule, ScheduleInput } from '@stonehand/schedule';
import { checkPlanJson, loadWorkspace } from '@stonehand/shop';
import { beforeAll, describe, expect, test } from 'vitest';
import { freshFolder, ROOT, stonehand } from './helpers/stonehand.ts';
import { plateFaults } from './oracles/polygon-overlap.ts';
import { brokenRules } from './oracles/run-rules.ts';

const FROM = '2026-06-05T18:00+02:00';
const TO = '2026-06-07T22:00+02:00';
const CLEARANCE_MM = 3;
const EMPTY_SCHEDULE: Schedule = {
  runs: [],
  waiting: [],
  todo: [],
  presence: [],
  late: [],
  visits: 0,
  changes: 0,
  search: { what: 'none', value: 0, rounds: 0, seed: 0, ended: 'rounds' },
  cautions: [],
};

describe('the plan of the demo workspace', () => {
  let plan: Plan;
  let again: Plan;
  let workspace: Workspace;
  beforeAll(async () => {
    const root = join(freshFolder('demo'), 'parts');
    cpSync(join(ROOT, 'parts'), root, { recursive: true, filter: (path) => !path.includes('.stonehand') });
    const args = ['plan', root, '--from', FROM, '--to', TO, '--json', '--out', freshFolder('demo-out')];
    plan = JSON.parse(stonehand(args).out);
    again = JSON.parse(stonehand([...args, '--fresh', '--workers', '1']).out);
    workspace = await loadWorkspace(root);
  }, 300_000);

  test('keeps the schema of plan.json', () => {
    expect(checkPlanJson(plan).name).toBe('Walking heron');
  });

  test('is the same to the last digit on one worker and without a cache', () => {
    expect(again).toEqual(plan);
  });

  test('no two copies overlap or come too close, none leaves the usable area (checked with polyclip-ts)', () => {
    const brim = new Map(plan.recipes.map(({ id, brimMm }) => [id, brimMm]));
    const outlines = plan.pieces.flatMap((piece) =>
      Array.from({ length: 20 }, (_, n) => ({
        copyId: `${piece.id}#${n + 1}`,
        footprint: piece.footprint,
        brimMm: brim.get(piece.recipeId)!,
      })),
    );
    const faults = plan.plates.flatMap((plate) => {
      const printer = plan.printers.find(({ id }) => id === plate.printerId)!;
      return plateFaults(outlines, plate.placed, printer, CLEARANCE_MM, 1e-4);
    });
    expect(plan.plates.length).toBeGreaterThan(5);
    expect(faults).toEqual([]);
  });

  test('every piece is on a printer that can hold it, heat it and feed it', () => {
    for (const plate of plan.plates) {
      const printer = plan.printers.find(({ id }) => id === plate.printerId)!;
      expect(plate.heightMm).toBeLessThanOrEqual(printer.heightMm);
      for (const materialId of plate.materialIds) {
        const material = plan.materials.find(({ id }) => id === materialId)!;
        expect(material.nozzleC).toBeLessThanOrEqual(printer.nozzleMaxC);
        expect(material.plateC).toBeLessThanOrEqual(printer.plateMaxC);
        expect(material.needs.filter((need) => !printer.has.includes(need))).toEqual([]);
      }
    }
  });

  test('every run obeys the rules of presence, of one person and of spools (checked by an oracle of the rules alone)', () => {
    const onRun = new Set(plan.runs.map(({ plateId }) => plateId));
    const reasonOf = new Map(plan.waiting.map(({ copyId, reason }) => [copyId, reason]));
    const input: ScheduleInput = {
      plates: plan.plates.map((plate) => ({ plate })),
      printers: plan.printers,
      materials: plan.materials,
      hours: workspace.hours,
      spools: plan.spools,
      from: plan.planFrom,
      to: plan.planTo!,
    };
    const schedule = {
      runs: plan.runs,
      todo: plan.todo,
      waiting: plan.plates
        .filter(({ id }) => !onRun.has(id))
        .map(({ id, placed }) => ({
          plateId: id,
          copyIds: placed.map(({ copyId }) => copyId),
          reason: reasonOf.get(placed[0]!.copyId) ?? '',
        })),
    } satisfies Pick<Schedule, 'runs' | 'todo' | 'waiting'>;
    expect(plan.runs.length).toBeGreaterThan(3);
    expect(brokenRules(input, { ...EMPTY_SCHEDULE, ...schedule })).toEqual([]);
  });

  test('every copy of every piece to print is planned exactly once or waits with a reason', () => {
    const wanted = plan.parts.flatMap((part) => {
      if (part.status !== 'print') return [];
      const spec = allParts(workspace).find(({ id }) => id === part.id)!;
      const there = new Set(
        workspace.ledger.flatMap((entry) =>
          entry.what === 'done' || entry.what === 'have' ? (entry.copyIds ?? []) : (entry.savedIds ?? []),
        ),
      );
      const ids = part.pieceIds.length > 0 ? part.pieceIds : [part.id];
      return ids.flatMap((id) =>
        Array.from({ length: spec.quantity + spec.spares }, (_, n) => `${id}#${n + 1}`).filter(
          (copy) => !there.has(copy) && !there.has(`${part.id}#${copy.split('#')[1]}`),
        ),
      );
    });
    const onRun = new Set(plan.runs.map(({ plateId }) => plateId));
    const planned = plan.plates
      .filter(({ id }) => onRun.has(id))
      .flatMap(({ placed }) => placed.map(({ copyId }) => copyId));
    const waiting = plan.waiting.map(({ copyId }) => copyId);
    expect([...planned, ...waiting].sort()).toEqual(wanted.sort());
    expect(plan.waiting.filter(({ reason }) => reason.length < 6)).toEqual([]);
  });

  test('assembled mass is the sum of what is printed, bought and allowed for, by part and by kind', () => {
    for (const report of plan.mass) {
      const children = report.children.reduce((sum, child) => sum + child.massG.value, 0);
      const byPart = Object.values(report.byPartG).reduce((sum, g) => sum + g, 0);
      const extraG = report.extraG ?? 0;
      const byKind = Object.values(report.byExtraG ?? {}).reduce((sum, g) => sum + g, 0);
      expect(report.massG.value).toBeCloseTo(report.printedG + report.boughtG + extraG, 6);
      expect(byKind).toBeCloseTo(extraG, 6);
      expect(report.massG.value).toBeGreaterThanOrEqual(children - 1e-6);
      expect(byPart).toBeLessThanOrEqual(report.massG.value + 1e-6);
      expect(report.massG.low!).toBeLessThanOrEqual(report.massG.value);
    }
    expect(plan.mass.length).toBeGreaterThan(0);
  });
});

function allParts(workspace: Workspace): Workspace['assemblies'][number]['parts'][number][] {
  const of = (assembly: Workspace['assemblies'][number]): Workspace['assemblies'][number]['parts'][number][] => [
    ...assembly.parts,
    ...assembly.children.flatMap((child) => of(child.assembly)),
  ];
  return workspace.assemblies.flatMap(of);
}

import { formatDuration, formatMass } from '@stonehand/base';
import type { Spool } from '@stonehand/model';
import { KEEP_BACK_G } from './assign-spools.ts';
import type { BuiltQueue } from './build-queue.ts';
import type { BuiltJob } from './built-job.ts';
import { createCalendar, earliestBlock } from './earliest-block.ts';
import type { ScheduleInput } from './schedule-types.ts';
import { clockText } from './words.ts';

/** "needs 640 g grey, 390 g on the shelf", or why the shelf is not enough although it holds as much. */
export function withoutSpoolReason(
  job: BuiltJob,
  materialId: string,
  spools: readonly Spool[],
  input: ScheduleInput,
): string {
  const { keepBackG = KEEP_BACK_G } = input;
  const material = input.materials.find((candidate) => candidate.id === materialId);
  const name = material === undefined ? materialId : (material.name ?? `${material.kind} ${material.colour}`);
  const rooms = spools
    .filter((spool) => spool.materialId === materialId)
    .map((spool) => Math.max(0, spool.lowG - keepBackG));
  const total = rooms.reduce((sum, room) => sum + room, 0);
  const fullest = Math.max(0, ...rooms);
  const needG = job.drawG[materialId]!;
  const need = `needs ${formatMass(needG)} ${name}`;
  if (rooms.length === 0) return `${need}, none on the shelf`;
  if (total < needG) return `${need}, ${formatMass(total)} on the shelf`;
  if (fullest < needG) return `${need} from one spool, the fullest has ${formatMass(fullest)}`;
  return `${need}, and what the shelf has (${formatMass(total)}) goes to other plates first`;
}

/** Why a plate that could run somewhere does not run in this window. */
export function noRoomReason(built: BuiltQueue, j: number, input: ScheduleInput): string {
  const { queue, startS } = built;
  const job = queue.jobs[j]!;
  const calendar = createCalendar(queue.present);
  let soonest = Infinity;
  let shortest = Infinity;
  const said: string[] = [];
  queue.machines.forEach((machine, k) => {
    const duration = job.durations[k]!;
    if (duration === Infinity) return;
    const pre = queue.startWork + (machine.unloadFirst ? queue.unload : 0);
    const watch = Math.min(queue.watch, duration);
    const from = Math.max(machine.availableFrom, job.release);
    const end = earliestBlock(calendar, machine, undefined, from, pre, watch, duration) + pre + duration;
    soonest = Math.min(soonest, end);
    shortest = Math.min(shortest, duration);
    if (end < Infinity) return;
    const needed = machine.unattended ? pre + watch : pre + duration;
    const longest = Math.max(0, ...queue.present.map(([a, b]) => b - a));
    if (needed > longest) {
      const why = machine.unattended ? 'to start and watch it' : `as ${machine.id} must not run unattended`;
      said.push(
        `needs ${formatDuration(needed)} of presence in one stretch ${why}, and the longest is ${formatDuration(longest)}`,
      );
    } else said.push(`${machine.id} is out of service for too long`);
  });
  if (soonest === Infinity) return said.join('; ');
  if (job.after !== undefined) return 'its test piece does not leave it room in this window';
  if (queue.until === Infinity) return 'no moment to start it was found';
  const closes = clockText(startS + queue.until, startS, input.hours.timeZone);
  if (soonest > queue.until) {
    const ends = clockText(startS + soonest, startS, input.hours.timeZone);
    return `takes ${formatDuration(shortest)}: even as the first run it would end ${ends}, after the window closes (${closes})`;
  }
  return noRoomWords(startS + queue.until, startS, input.hours.timeZone);
}

export function noRoomWords(closesS: number, fromS: number, timeZone: string): string {
  return `no room left in this window: it would not be finished by ${clockText(closesS, fromS, timeZone)} after the others`;
}

import type { Plan } from '@stonehand/model';
import { renderCalendar } from '@stonehand/report';
import ICAL from 'ical.js';
import { describe, expect, test } from 'vitest';
import { WEEKEND } from '../packages/report/test/fixture.ts';

// Checked with ical.js 2.2.1, an independent reader of RFC 5545 (section numbers are the standard's).

const text = renderCalendar(WEEKEND);
const read = (ics: string): ICAL.Event[] =>
  new ICAL.Component(ICAL.parse(ics)).getAllSubcomponents('vevent').map((event) => new ICAL.Event(event));

describe('the calendar', () => {
  test('has one event for each thing a person must do, at its time', () => {
    const events = read(text);
    expect(events).toHaveLength(WEEKEND.todo.length);
    WEEKEND.todo.forEach((todo, i) => {
      expect(events[i]!.startDate.toJSDate().getTime()).toBe(Date.parse(todo.from));
      expect(events[i]!.endDate.toJSDate().getTime()).toBe(Date.parse(todo.to));
      expect(events[i]!.summary.toLowerCase()).toBe(todo.says.toLowerCase());
      expect(events[i]!.location).toBe(todo.printerId);
    });
  });

  test('has VERSION, PRODID, UID and DTSTAMP where the standard wants them (3.6, 3.6.1)', () => {
    const calendar = new ICAL.Component(ICAL.parse(text));
    expect(calendar.getFirstPropertyValue('version')).toBe('2.0');
    expect(calendar.getFirstPropertyValue('prodid')).toBe('-//stonehand//plan//EN');
    const events = calendar.getAllSubcomponents('vevent');
    const uids = events.map((e) => String(e.getFirstPropertyValue('uid')));
    expect(new Set(uids).size).toBe(events.length);
    for (const event of events) {
      const stamp = event.getFirstPropertyValue('dtstamp') as ICAL.Time;
      expect(stamp.toJSDate().getTime()).toBe(Date.parse(WEEKEND.planFrom)); // the plan’s start, not the clock
      expect(stamp.zone.tzid).toBe('UTC');
    }
  });

  test('ends lines with CRLF and folds them at 75 octets without splitting a letter (3.1)', () => {
    const says = `unload ${'鷺'.repeat(40)} ${'ü'.repeat(50)}; and, then \\ backslash\nsecond line 🪶🪶🪶🪶🪶🪶🪶🪶🪶🪶🪶🪶`;
    const ics = renderCalendar({ ...WEEKEND, todo: [{ ...WEEKEND.todo[0]!, says }] });
    expect(ics.replace(/\r\n/g, '')).not.toMatch(/[\r\n]/);
    const lines = ics.split('\r\n');
    for (const line of lines) {
      expect(Buffer.byteLength(line)).toBeLessThanOrEqual(75);
      expect(line).not.toMatch(/\ufffd/);
      expect(Buffer.from(line, 'utf8').toString('utf8')).toBe(line); // no lone half of a pair
    }
    expect(lines.some((line) => Buffer.byteLength(line) >= 72)).toBe(true);
    expect(read(ics)[0]!.summary.slice(1)).toBe(says.slice(1));
  });

  test('leaves out an end that is not after the start (3.6.1)', () => {
    const plan: Plan = { ...WEEKEND, todo: [{ ...WEEKEND.todo[0]!, to: WEEKEND.todo[0]!.from }] };
    expect(renderCalendar(plan)).not.toContain('DTEND');
    expect(read(renderCalendar(plan))[0]!.duration.toSeconds()).toBe(0);
  });

  test('keeps an event’s UID when the plan moves its run, so that a calendar moves it too', () => {
    const later = (t: string): string => new Date(Date.parse(t) + 3.6e6).toISOString();
    const moved = { ...WEEKEND, todo: WEEKEND.todo.map((t) => ({ ...t, from: later(t.from), to: later(t.to) })) };
    expect(read(renderCalendar(moved)).map((e) => e.uid)).toEqual(read(text).map((e) => e.uid));
  });
});

test('a long sentence of the scheduler is a short title and a full description', () => {
  const says = 'start skull on loft, spool W2, watch until 18:22, ends about Sat 03:40 (02:50 to 05:30)';
  const event = read(renderCalendar({ ...WEEKEND, todo: [{ ...WEEKEND.todo[0]!, says }] }))[0]!;
  expect(event.summary).toBe('Start skull on loft, spool W2');
  expect(event.description).toContain('ends about Sat 03:40 (02:50 to 05:30)');
});

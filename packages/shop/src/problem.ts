import { type ErrorCode, StonehandError } from '@stonehand/base';
import type { Fault } from '@stonehand/model';

/** Something wrong in a workspace's files: where, what, and what to do. line and column count from 1. */
export interface Problem {
  readonly code: ErrorCode;
  readonly file: string;
  readonly line?: number;
  readonly column?: number;
  readonly what: string;
  readonly remedy: string;
}

/** `file:line:column what`, as far as the place is known. */
export function faultOf(problem: Problem): Fault {
  const { code, file, line, column, what, remedy } = problem;
  const place = line === undefined ? file : `${file}:${line}:${column ?? 1}`;
  return {
    code,
    message: `${place} ${what}`,
    remedy,
    ...(line === undefined ? {} : { line, column: column ?? 1 }),
  };
}

/**
 * One complaint per place, in the order of files as they were read, then of lines. Of a file that is not YAML only that is said:
 * what its torn values look like means nothing.
 */
export function tidyProblems(problems: readonly Problem[]): Problem[] {
  const torn = new Set(problems.filter((problem) => problem.code === 'YAML_SYNTAX').map((problem) => problem.file));
  const seen = new Set<string>();
  const files = new Map<string, number>();
  const kept: Problem[] = [];
  for (const problem of problems) {
    if (!files.has(problem.file)) files.set(problem.file, files.size);
    const place = `${problem.file}:${problem.line}:${problem.column}${problem.line === undefined ? problem.what : ''}`;
    if (seen.has(place) || (torn.has(problem.file) && problem.code !== 'YAML_SYNTAX')) continue;
    seen.add(place);
    kept.push(problem);
  }
  const rank = (p: Problem): number => files.get(p.file) ?? 0;
  return kept.sort((a, b) => rank(a) - rank(b) || (a.line ?? 0) - (b.line ?? 0) || (a.column ?? 0) - (b.column ?? 0));
}

/** The first complaint as an error that says how many more there are. */
export function errorOf(problems: readonly Problem[]): StonehandError {
  const first = problems[0];
  if (first === undefined) throw new RangeError('errorOf: there is no problem');
  const fault = faultOf(first);
  const more = problems.length - 1;
  const message = more === 0 ? fault.message : `${fault.message} (and ${more} more)`;
  return new StonehandError(first.code, message, fault.remedy, {
    ...(fault.line === undefined ? {} : { line: fault.line }),
    ...(fault.column === undefined ? {} : { column: fault.column }),
  });
}

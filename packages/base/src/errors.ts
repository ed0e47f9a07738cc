/**
 * Every error code of the project and what it is about. A test compares this table with DEVELOPERS.md, so a code
 * cannot appear without a line for people.
 */
export const ERROR_CODES = {
  USAGE: 'the command was called in a way it does not know',
  FILE_MISSING: 'a file that was named does not exist',
  FILE_UNREADABLE: 'a file exists but cannot be read',
  FILE_OUTSIDE: 'a path leads outside the workspace',
  FORMAT_UNKNOWN: 'the file is of no mesh format that is read here',
  MESH_EMPTY: 'the file holds no triangle',
  MESH_TRUNCATED: 'the file ends before its own count says',
  MESH_MALFORMED: 'the file breaks the rules of its format',
  MESH_NOT_FINITE: 'a coordinate is not a finite number',
  MESH_TOO_LARGE: 'the file asks for more than this program can hold',
  MESH_OPEN: 'an operation needs a closed mesh and this one is not',
  YAML_SYNTAX: 'a YAML file cannot be parsed',
  DATA_INVALID: 'a value in a workspace file breaks its schema',
  DATA_UNKNOWN: 'a name refers to something that is not defined',
  DATA_DUPLICATE: 'a name is defined twice',
  VERSION_NEWER: 'a file was written by a newer major version',
  TIME_INVALID: 'a moment or a duration cannot be read',
  UNIT_INVALID: 'a length or a mass cannot be read',
  SPLIT_IMPOSSIBLE: 'no sequence of cuts makes pieces that fit',
  GEOMETRY_FAILED: 'a geometric operation gave a result that fails its own check',
  INTERRUPTED: 'the user stopped the work',
  INTERNAL: 'a fault of this program',
} as const;

export type ErrorCode = keyof typeof ERROR_CODES;

export interface ErrorPlace {
  readonly line?: number;
  readonly column?: number;
}

/**
 * The one error class: a code, what is wrong and where (one line), and what to do about it (one line).
 * Findings about a part are data, not errors.
 */
export class StonehandError extends Error {
  readonly code: ErrorCode;
  readonly remedy: string;
  readonly line: number | undefined;
  readonly column: number | undefined;

  constructor(
    code: ErrorCode,
    message: string,
    remedy: string,
    options: ErrorPlace & { readonly cause?: unknown } = {},
  ) {
    super(message, options.cause === undefined ? undefined : { cause: options.cause });
    this.name = 'StonehandError';
    this.code = code;
    this.remedy = remedy;
    this.line = options.line;
    this.column = options.column;
  }
}

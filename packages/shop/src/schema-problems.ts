import { nearestName } from '@stonehand/base';
import type { Problem } from './problem.ts';
import type { SchemaBreach, Validator } from './validator.ts';
import type { Path, Source } from './yaml-source.ts';

/** What a file breaks of its schema, in plain words with places. */
export function schemaProblems(source: Source, validate: Validator): Problem[] {
  if (validate(source.value)) return [];
  const breaches = validate.errors ?? [];
  // A bad name is reported twice: what is wrong with it, and that there is one. Only the second knows that it is a name.
  const names = breaches.filter((breach) => breach.keyword === 'propertyNames');
  const isName = (breach: SchemaBreach): boolean =>
    names.some((name) => name.instancePath === breach.instancePath && name.params.propertyName === breach.data);
  return breaches
    .filter((breach) => breach.keyword !== 'propertyNames' && breach.keyword !== 'if')
    .map((breach) => problemOf(source, breach, isName(breach) ? badName(breach) : describe(breach)));
}

function problemOf(source: Source, breach: SchemaBreach, said: Said): Problem {
  const extra = said.key === undefined ? [] : [said.key];
  const place = source.place([...pathOf(breach.instancePath), ...extra], said.key === undefined ? 'value' : 'key');
  return { code: 'DATA_INVALID', file: source.file, ...place, what: said.what, remedy: said.remedy };
}

function badName(breach: SchemaBreach): Said {
  const key = String(breach.data);
  return { key, what: `"${key}" cannot be used as a name here`, remedy: meaningOf(breach) };
}

function meaningOf({ parentSchema }: SchemaBreach): string {
  return parentSchema?.description ?? parentSchema?.title ?? 'See the schema of this file.';
}

/** Segments of a JSON pointer (RFC 6901). */
function pathOf(pointer: string): Path {
  return pointer
    .split('/')
    .slice(1)
    .map((segment) => segment.replace(/~1/g, '/').replace(/~0/g, '~'));
}

interface Said {
  readonly what: string;
  readonly remedy: string;
  /** the complaint is about this key of the value */
  readonly key?: string;
}

function describe(breach: SchemaBreach): Said {
  const { keyword, params, parentSchema: schema, data } = breach;
  const name = pathOf(breach.instancePath).at(-1);
  const subject = name === undefined ? 'the file' : `"${name}"`;
  const meant = meaningOf(breach);
  switch (keyword) {
    case 'additionalProperties':
      return unknownKey(String(params.additionalProperty), Object.keys(schema?.properties ?? {}));
    case 'required':
      return {
        what: `${subject} has no "${params.missingProperty}"`,
        remedy: `Add "${params.missingProperty}".`,
      };
    case 'type':
      return {
        what: `${subject} is ${kindOf(data)}, but must be ${listOf([params.type ?? []].flat().map((type) => KINDS[type] ?? type))}`,
        remedy: meant,
      };
    case 'enum':
      return wrongWord(subject, data, (params.allowedValues ?? []).map(String));
    case 'pattern':
      return { what: `${subject} cannot be "${shorten(data)}"`, remedy: meant };
    case 'minItems':
    case 'maxItems': {
      const count = Array.isArray(data) ? data.length : 0;
      const bound = keyword === 'minItems' ? 'at least' : 'at most';
      return { what: `${subject} has ${count} entries, but must have ${bound} ${params.limit}`, remedy: meant };
    }
    case 'minimum':
      return { what: `${subject} is ${shorten(data)}, but must not be less than ${params.limit}`, remedy: meant };
    case 'exclusiveMinimum':
      return { what: `${subject} is ${shorten(data)}, but must be more than ${params.limit}`, remedy: meant };
    case 'maximum':
      return { what: `${subject} is ${shorten(data)}, but must not be more than ${params.limit}`, remedy: meant };
    default:
      return { what: `${subject} ${breach.message ?? 'breaks its schema'}`, remedy: meant };
  }
}

const KINDS: Readonly<Record<string, string>> = {
  number: 'a number',
  integer: 'a whole number',
  string: 'a text',
  object: 'a map of keys',
  array: 'a list',
  boolean: 'true or false',
  null: 'empty',
};

function kindOf(data: unknown): string {
  if (data === null || data === undefined) return 'empty';
  if (Array.isArray(data)) return 'a list';
  if (typeof data === 'object') return 'a map of keys';
  return typeof data === 'string' ? 'a text' : shorten(data);
}

function unknownKey(key: string, known: readonly string[]): Said {
  const near = nearestName(key, known);
  return {
    key,
    what: `unknown key "${key}"`,
    remedy: near === undefined ? `Known here: ${known.join(', ')}.` : `Did you mean "${near}"?`,
  };
}

function wrongWord(subject: string, data: unknown, allowed: readonly string[]): Said {
  const near = nearestName(String(data), allowed);
  const choices = listOf(allowed);
  return {
    what: `${subject} is "${shorten(data)}", but must be ${choices}`,
    remedy: near === undefined ? `Write ${choices}.` : `Did you mean "${near}"?`,
  };
}

function listOf(words: readonly string[]): string {
  return words.length < 2 ? words.join('') : `${words.slice(0, -1).join(', ')} or ${words.at(-1)}`;
}

function shorten(data: unknown): string {
  const text = typeof data === 'string' ? data : (JSON.stringify(data) ?? String(data));
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

import { StonehandError } from '@stonehand/base';
import type { Plan } from '@stonehand/model';
import { validatePlan } from './generated/plan-validator.ts';
import type { Validator } from './validator.ts';

/** The major version of plan.json that this program writes and reads; members may be added within it. */
export const PLAN_SCHEMA_VERSION = 1;

/**
 * A parsed plan.json, once it is one.
 * @throws StonehandError VERSION_NEWER when a newer major version wrote it, DATA_INVALID when it breaks its schema
 */
export function checkPlanJson(value: unknown): Plan {
  const version =
    typeof value === 'object' && value !== null ? (value as { schemaVersion?: unknown }).schemaVersion : undefined;
  if (typeof version === 'number' && Math.floor(version) > PLAN_SCHEMA_VERSION) {
    throw new StonehandError(
      'VERSION_NEWER',
      `the plan has schema version ${version}; this program reads ${PLAN_SCHEMA_VERSION}`,
      'Update stonehand, or make the plan again with this one.',
    );
  }
  if (isPlan(value, validatePlan)) return value;
  const breach = validatePlan.errors?.[0];
  const where = breach?.instancePath === '' || breach === undefined ? 'the plan' : breach.instancePath.slice(1);
  throw new StonehandError(
    'DATA_INVALID',
    `${where} ${breach?.message ?? 'breaks its schema'}`,
    'Make the plan again; see schemas/plan.json.',
  );
}

function isPlan(value: unknown, validate: Validator): value is Plan {
  return validate(value);
}

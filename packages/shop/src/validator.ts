/** One breach of a schema, as ajv words it (only the members used here). */
export interface SchemaBreach {
  /** JSON pointer to the value */
  readonly instancePath: string;
  readonly keyword: string;
  readonly params: Readonly<{
    additionalProperty?: string;
    missingProperty?: string;
    propertyName?: string;
    type?: string | readonly string[];
    allowedValues?: readonly unknown[];
    limit?: number;
  }>;
  readonly message?: string;
  /** the value, and the schema that holds the broken keyword (not for plans) */
  readonly data?: unknown;
  readonly parentSchema?: Readonly<{
    title?: string;
    description?: string;
    properties?: Readonly<Record<string, unknown>>;
  }>;
}

/** A validator made from a schema; `errors` holds the breaches of the last call that gave false. */
export interface Validator {
  (value: unknown): boolean;
  errors?: readonly SchemaBreach[] | null;
}

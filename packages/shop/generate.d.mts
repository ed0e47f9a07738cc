/** File name to text of everything in src/generated, for the schemas as they are now. */
export function generatedFiles(): Promise<Readonly<Record<string, string>>>;

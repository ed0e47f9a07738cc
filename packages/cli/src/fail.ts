import { StonehandError } from '@stonehand/base';

// Exit codes: 0 fine, 1 something wrong found in the parts, 2 wrong use or unreadable input, 3 our fault.
const INTERRUPTED_BY_USER = 130;

/** Two lines for people: what and where, then what to do. A stack only with --debug. */
export function reportFailure(error: unknown, options: Readonly<{ json?: boolean; debug?: boolean }>): number {
  if (error instanceof StonehandError) {
    const { code, message, remedy } = error;
    if (options.json === true) process.stdout.write(`${JSON.stringify({ error: { code, message, remedy } })}\n`);
    process.stderr.write(`${message}\n  ${remedy}\n`);
    if (options.debug === true) process.stderr.write(`${error.stack ?? ''}\n`);
    if (code === 'INTERRUPTED') return INTERRUPTED_BY_USER;
    return code === 'INTERNAL' || code === 'GEOMETRY_FAILED' ? 3 : 2;
  }
  const words = error instanceof Error ? error.message : String(error);
  process.stderr.write(
    `stonehand: ${words}\n  This is a fault of stonehand, not of your files. Run again with --debug and report what it prints.\n`,
  );
  if (options.debug === true && error instanceof Error) process.stderr.write(`${error.stack ?? ''}\n`);
  return 3;
}

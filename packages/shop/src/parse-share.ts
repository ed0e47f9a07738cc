import { StonehandError } from '@stonehand/base';

/**
 * A share from `15 %`, `15%` or 0.15.
 * @returns 0 … 1
 * @throws StonehandError DATA_INVALID
 */
export function parseShare(value: string | number): number {
  const percent = /^\s*(\d+(?:\.\d+)?|\.\d+)\s*%\s*$/.exec(String(value));
  const plain = /^\s*(\d+(?:\.\d+)?|\.\d+)\s*$/.exec(String(value));
  const share =
    percent !== null
      ? Number(percent[1]) / 100
      : plain !== null
        ? Number(plain[1])
        : typeof value === 'number'
          ? value
          : Number.NaN;
  if (share >= 0 && share <= 1) return share;
  throw new StonehandError(
    'DATA_INVALID',
    `"${value}" is not a share`,
    'Write a share of the whole, such as 15 % or 0.15.',
  );
}

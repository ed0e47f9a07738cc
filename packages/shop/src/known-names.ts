import type { HardwareItem } from '@stonehand/model';
import { builtInHardware, builtInHardwareNames } from './built-in-hardware.ts';
import { type Entry, mustBeKnown } from './fields.ts';
import type { Path } from './yaml-source.ts';

/** The names that assemblies may refer to. */
export interface Known {
  readonly printerIds: readonly string[];
  readonly materialIds: readonly string[];
  readonly recipeIds: readonly string[];
  readonly defaults: Readonly<{ materialId: string; recipeId: string; mend: boolean }>;
  /** items of shop/hardware.yaml by id; built-in ones are added as they are met */
  readonly hardware: Map<string, HardwareItem>;
  /** quantity and spares of every part of the workspace, by id */
  readonly copies: ReadonlyMap<string, number>;
}

/** Notes a built-in item as used, or complains that there is no such item. */
export function mustBeHardware(entry: Entry, tail: Path, itemId: string, known: Known): boolean {
  if (known.hardware.has(itemId)) return true;
  const item = builtInHardware(itemId);
  if (item !== undefined) {
    known.hardware.set(itemId, item);
    return true;
  }
  const names = [...known.hardware.keys(), ...builtInHardwareNames()];
  const remedy = 'Add it to shop/hardware.yaml with its mass, or use a built-in name such as M3x10 socket screw.';
  return mustBeKnown(entry, tail, itemId, names, 'bought item', remedy);
}

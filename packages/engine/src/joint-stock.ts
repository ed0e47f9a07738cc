import type { Body } from '@stonehand/balance';
import type { HardwareItem, Joint, Plan } from '@stonehand/model';
import { pinMassG, pinsToCut } from '@stonehand/split';
import type { PartOutcome } from './pieces.ts';

/** Density of glue: cyanoacrylate 1.06, epoxy 1.1 to 1.2 (data sheets, from memory). */
const GLUE_G_PER_CM3 = 1.1;

/** What the joints of cut parts ask for beside plastic: pins by length, and glue. */
export function jointHardware(outcomes: readonly PartOutcome[]): Plan['hardware'] {
  return outcomes.flatMap(({ part, split, pieces }) => {
    if (split === undefined || pieces.length === 0 || part.spec.status !== 'print') return [];
    const copies = part.spec.quantity + part.spec.spares;
    const pins = pinsToCut(split.joints).map((pin) => ({
      item: {
        id: `${part.spec.id}/pins-${pin.diameterMm}x${pin.lengthMm}`,
        name: `${pin.lengthMm} mm of ${pin.diameterMm} mm ${pin.stock}, pin of ${part.spec.name}`,
        massG: pinMassG(pin, part.material.densityGPerCm3),
        magnetic: false,
      } satisfies HardwareItem,
      quantity: pin.count * copies,
    }));
    if (!(split.glueMm3 > 0)) return pins;
    const glue: HardwareItem = {
      id: `${part.spec.id}/glue`,
      name: `glue for the seams of ${part.spec.name}, ${(split.glueMm3 / 1000).toFixed(1)} cm³`,
      massG: (split.glueMm3 / 1000) * GLUE_G_PER_CM3,
      magnetic: false,
    };
    return [...pins, { item: glue, quantity: copies }];
  });
}

/** The pins of a part's joints as bodies in the part's coordinates; too small to turn with any weight of their own. */
export function pinBodies(joints: readonly Joint[], filamentGPerCm3: number): Body[] {
  return joints.flatMap(({ kind, diameterMm, lengthMm, atMm }) => {
    if ((kind !== 'flange' && kind !== 'dowel') || diameterMm === undefined || lengthMm === undefined) return [];
    const massG = pinMassG({ diameterMm, lengthMm }, filamentGPerCm3);
    return [{ massG, centreMm: atMm, inertiaGMm2: [0, 0, 0, 0, 0, 0] as const }];
  });
}

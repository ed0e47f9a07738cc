import type { Plan } from '@stonehand/model';
import { flatten } from './limit-lines.ts';

type Rule = Readonly<{
  /** a caution of the plan that matches already says it */
  said: RegExp;
  applies: (plan: Plan) => boolean;
  says: string;
}>;

const FUMING = /\b(ABS|ASA|HIPS|PA\d*|PC|nylon)\b/i;
const SOLVENT = /acetone|solvent|limonene|chlor/i;

// The usual cautions of the trade and whom to defer to. Emissions: UL 2904; cells: IEC 62133, UN 38.3; the rest common practice.
const RULES: readonly Rule[] = [
  {
    said: /unattended|smoke alarm/i,
    applies: (plan) => plan.runs.some((run) => run.unattended),
    says: 'Some runs go on while nobody watches, on printers their owner marked for it. Have a working smoke alarm, clear surroundings and thermal-runaway protection; local fire code, landlord or insurer, and the printer’s manual come first.',
  },
  {
    said: /fumes|ventilat/i,
    applies: (plan) => usedKinds(plan).some((kind) => FUMING.test(kind)),
    says: 'ABS, ASA, HIPS, PA and PC give off more fumes and ultrafine particles: ventilate or extract, and keep such a printer out of bedrooms. Safety data sheets and workplace limits come first; UL 2904 is the emission standard to look for.',
  },
  {
    said: SOLVENT,
    applies: (plan) =>
      plan.hardware.some(({ item }) => SOLVENT.test(`${item.name} ${item.note ?? ''}`)) || usesSolventJoint(plan),
    says: 'Solvents for welding give highly flammable vapour: no flame or hot plate near, outdoors or strong ventilation, gloves and goggles. The safety data sheet and local fire code come first.',
  },
  {
    said: /magnet/i,
    applies: (plan) => plan.hardware.some(({ item }) => /magnet/i.test(`${item.id} ${item.name}`)),
    says: 'Strong magnets pinch and shatter; keep them from children, pacemakers and cards. Swallowing one is an emergency.',
  },
  {
    said: /lithium|\bcells?\b|batter/i,
    applies: (plan) =>
      plan.hardware.some(({ item }) =>
        /lithium|li-?ion|lipo|\bcells?\b|batter|18650|21700/i.test(`${item.id} ${item.name}`),
      ),
    says: 'Lithium cells: fused and protected packs, the proper charger, never charged unattended or inside the closed prop. Maker’s data sheet, IEC 62133 and transport rules (UN 38.3) come first.',
  },
  {
    said: /overhead|worn|carried|load/i,
    applies: (plan) => flatten(plan.mass).some((report) => report.limits.length > 0),
    says: 'Worn, carried or overhead: printed plastic creeps and splits along layers. Use a secondary safety line and a generous factor of safety, inspect before each use, and let a competent person decide under event and local rules. Printed parts are not certified for loads or protection.',
  },
  {
    said: /sand/i,
    applies: (plan) => plan.plates.length > 0,
    says: 'Sanding and drilling: eye protection, a fitted particle mask, sand wet. Dust of filled kinds irritates skin and lungs.',
  },
  {
    said: /hot surface|hot nozzle|moving parts/i,
    applies: (plan) => plan.runs.length > 0,
    says: 'The nozzle is over 200 °C and the plate up to 110 °C: let both cool before touching, and keep hair and sleeves away while axes move. Repairs on mains wiring belong to a licensed electrician.',
  },
];

/**
 * The plan's own cautions, then those of the trade that apply to it (runs unattended, kinds of plastic, hardware, loads) and
 * that it has not already.
 */
export function cautionsOf(plan: Plan): string[] {
  const all = [...plan.cautions];
  for (const rule of RULES) {
    if (rule.applies(plan) && !plan.cautions.some((said) => rule.said.test(said))) all.push(rule.says);
  }
  return all;
}

function usedKinds(plan: Plan): string[] {
  const used = new Set(plan.pieces.map((piece) => piece.materialId));
  return plan.materials.filter((material) => used.has(material.id)).map((material) => material.kind);
}

function usesSolventJoint(plan: Plan): boolean {
  return plan.pieces.some((piece) => piece.joints.some((joint) => joint.kind === 'weld'));
}

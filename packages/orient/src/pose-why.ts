import type { Pose } from '@stonehand/model';

/** What a pose is best at among those listed, and what it costs beside the way it was modelled; empty when there is nothing to say. */
export function poseWhy(pose: Pose, all: readonly Pose[]): string {
  const modelled = all.find(({ id }) => id === 'asModelled');
  const said = [
    ...(all.length > 1 ? bestAt(pose, all) : []),
    ...(modelled === undefined || modelled === pose ? [] : besides(pose, modelled)),
    ...marksWords(pose),
    ...((pose.islands ?? 0) > 0
      ? [`${pose.islands} ${pose.islands === 1 ? 'place begins' : 'places begin'} in mid-air`]
      : []),
  ];
  return said.join(', ');
}

const MEASURES: readonly (readonly [string, (pose: Pose) => number, number])[] = [
  ['least support', (p) => p.supportMm3, 50],
  ['fewest marks', (p) => p.scarMm2, 10],
  ['lowest', (p) => p.heightMm, 0.5],
  ['steadiest', (p) => -p.tipDeg, 1],
  ['narrowest', (p) => Math.max(p.sizeMm[0], p.sizeMm[1]), 0.5],
];

/** Only where it is clearly the best: by more than the figures are known to. */
function bestAt(pose: Pose, all: readonly Pose[]): string[] {
  return MEASURES.flatMap(([words, of, slack]) =>
    all.every((other) => other === pose || of(pose) < of(other) - Math.max(slack, 0.02 * Math.abs(of(other))))
      ? [words]
      : [],
  );
}

function besides(pose: Pose, modelled: Pose): string[] {
  const cm3 = (pose.supportMm3 - modelled.supportMm3) / 1000;
  const mm = pose.heightMm - modelled.heightMm;
  const said = [
    ...(Math.abs(cm3) < 0.1 ? [] : [`${number(Math.abs(cm3))} cm³ ${cm3 < 0 ? 'less' : 'more'} support`]),
    ...(Math.abs(mm) < 1 ? [] : [`${number(Math.abs(mm))} mm ${mm < 0 ? 'lower' : 'higher'}`]),
  ];
  return said.length === 0 ? [] : [`${said.join(' and ')} than as modelled`];
}

function marksWords({ scarMm2, shownScarMm2 }: Pose): string[] {
  if (shownScarMm2 === undefined || scarMm2 < 10) return [];
  const share = shownScarMm2 / scarMm2;
  return share < 0.15 ? ['marks out of sight'] : share > 0.6 ? ['marks where they show'] : [];
}

function number(value: number): string {
  return value < 10 ? value.toFixed(1) : value.toFixed(0);
}

/** How a machine moves along one path. */
export type Motion = Readonly<{
  speedMmS: number;
  accelMmS2: number;
  /** speed kept through a right angle; other corners follow from it */
  cornerSpeedMmS: number;
}>;

/** Turns sharper than this cosine (of the angle between directions, negated) are reversals; straighter ones are no corner. */
const STRAIGHT = 0.999999;

/**
 * Seconds from rest to rest along points from … to − 1 of xy (mm), back to the first one when closed: constant acceleration,
 * corner speeds, and look-ahead over the whole path (a backward pass, then a forward pass).
 *
 * A corner with the interior angle θ is taken at v = √(a·δ·s/(1 − s)), s = sin(θ/2): the speed on the arc that passes δ from
 * the corner with the centripetal acceleration a. δ follows from the speed V kept through a right angle, δ = V²(√2 − 1)/a, so
 * that v = V·√((√2 − 1)·s/(1 − s)) whatever a is. (Junction deviation, for open machine controllers about 2011, from
 * memory; derived again in references section 4.)
 */
export function pathSeconds(xy: ArrayLike<number>, from: number, to: number, closed: boolean, motion: Motion): number {
  return new PathTimer().seconds(xy, from, to, closed, motion);
}

/** The same with its working arrays kept between paths. */
export class PathTimer {
  private length = new Float64Array(256);
  /** square of the highest speed at the start of each piece; one more for the end */
  private speed2 = new Float64Array(257);

  seconds(xy: ArrayLike<number>, from: number, to: number, closed: boolean, motion: Motion): number {
    const pieces = this.measure(xy, from, to, closed, motion);
    if (pieces === 0) return 0;
    const { length, speed2 } = this;
    const { speedMmS, accelMmS2 } = motion;
    const top2 = speedMmS * speedMmS;
    const twiceA = 2 * accelMmS2;
    for (let i = pieces - 1; i > 0; i--) {
      const reachable = speed2[i + 1] + twiceA * length[i];
      if (speed2[i] > reachable) speed2[i] = reachable;
    }
    let sum = 0;
    let entry = 0;
    for (let i = 0; i < pieces; i++) {
      // At full speed all along: what the formulae below come to, without their roots.
      if (entry === speedMmS && speed2[i + 1] === top2) {
        sum += length[i] / speedMmS;
        continue;
      }
      const reachable = entry * entry + twiceA * length[i];
      const exit = Math.sqrt(Math.min(speed2[i + 1], reachable));
      sum += moveSeconds(length[i], entry, exit, speedMmS, accelMmS2);
      entry = exit;
    }
    return sum;
  }

  /** Lengths and corner limits; points that repeat the one before are passed over. Returns the number of pieces. */
  private measure(xy: ArrayLike<number>, from: number, to: number, closed: boolean, motion: Motion): number {
    const n = to - from;
    if (n < 2) return 0;
    const moves = closed ? n : n - 1;
    if (moves > this.length.length) {
      this.length = new Float64Array(2 * moves);
      this.speed2 = new Float64Array(2 * moves + 1);
    }
    const { length, speed2 } = this;
    const top2 = motion.speedMmS * motion.speedMmS;
    const right2 = (Math.SQRT2 - 1) * motion.cornerSpeedMmS * motion.cornerSpeedMmS;
    // Corners straighter than this allow more than the speed itself: their limit needs no root.
    const gentle = top2 / (right2 + top2);
    const gentleCos = Math.max(-STRAIGHT, 1 - 2 * gentle * gentle);
    let px = xy[2 * from];
    let py = xy[2 * from + 1];
    let ux = 0;
    let uy = 0;
    let pieces = 0;
    for (let k = 1; k <= moves; k++) {
      const i = k === n ? from : from + k;
      const dx = xy[2 * i] - px;
      const dy = xy[2 * i + 1] - py;
      const l = Math.sqrt(dx * dx + dy * dy);
      if (l === 0) continue;
      const vx = dx / l;
      const vy = dy / l;
      // cos θ of the interior angle: 1 for a reversal, −1 for straight on.
      const cosInterior = -(ux * vx + uy * vy);
      let limit2 = top2;
      if (cosInterior > gentleCos) {
        const s = Math.sqrt(Math.max(0, 0.5 * (1 - cosInterior)));
        const corner2 = (right2 * s) / (1 - s);
        if (corner2 < limit2) limit2 = corner2;
      }
      speed2[pieces] = pieces === 0 ? 0 : limit2;
      length[pieces++] = l;
      px += dx;
      py += dy;
      ux = vx;
      uy = vy;
    }
    speed2[pieces] = 0;
    return pieces;
  }
}

/**
 * Seconds of one straight move: from entryMmS up to at most speedMmS and down to exitMmS with constant acceleration. The
 * caller sees to it that exit can be reached from entry (check values F8).
 */
export function moveSeconds(
  lengthMm: number,
  entryMmS: number,
  exitMmS: number,
  speedMmS: number,
  accelMmS2: number,
): number {
  const ends2 = entryMmS * entryMmS + exitMmS * exitMmS;
  const peak = Math.sqrt(accelMmS2 * lengthMm + ends2 / 2);
  if (peak <= speedMmS) return (2 * peak - entryMmS - exitMmS) / accelMmS2;
  const cruiseMm = lengthMm - (2 * speedMmS * speedMmS - ends2) / (2 * accelMmS2);
  return (2 * speedMmS - entryMmS - exitMmS) / accelMmS2 + cruiseMm / speedMmS;
}

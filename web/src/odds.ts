/** Chances as people say them. */

/** A chance as a fraction, such as 1 in 4. */
export interface Odds {
  readonly in: number;
  readonly of: number;
}

/** Fractions that read well, up to one half. A larger chance is shown as the complement of one of them. */
const READABLE: readonly Odds[] = [
  { in: 1, of: 2 },
  { in: 2, of: 5 },
  ...[3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 1000].map((of) => ({
    in: 1,
    of,
  })),
];

/** Log-odds, the scale on which the nearest fraction is chosen: it keeps 1 in 100 and 1 in 200 apart. */
const logit = (p: number): number => Math.log(p / (1 - p));

/**
 * The readable fraction nearest to a chance; undefined if the chance is below 1 in 1000, above 999 in
 * 1000, or not a number.
 */
export function nearestOdds(p: number): Odds | undefined {
  if (!(p >= 0.001 && p <= 0.999)) return undefined;
  const small = Math.min(p, 1 - p);
  let best = READABLE[0] as Odds;
  for (const odds of READABLE) {
    const away = (o: Odds): number => Math.abs(logit(o.in / o.of) - logit(small));
    if (away(odds) < away(best)) best = odds;
  }
  return p <= 0.5 || best.of === 2 ? best : { in: best.of - best.in, of: best.of };
}

/** Whether two chances differ enough in percent to show the change. */
export function moved(before: number, now: number): boolean {
  return Math.abs(before - now) >= 0.005;
}

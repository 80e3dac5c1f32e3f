/** Chances as people say them. */

/** So many in so many. */
export interface Odds {
  readonly in: number;
  readonly of: number;
}

/** Fractions that read well. Those over one half are the same ones, turned round. */
const READABLE: readonly Odds[] = [
  { in: 1, of: 2 },
  { in: 2, of: 5 },
  ...[3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200, 300, 500, 1000].map((of) => ({
    in: 1,
    of,
  })),
];

/** Log-odds: nearness is judged there, so that 1 in 100 and 1 in 200 are as far apart as they feel. */
const logit = (p: number): number => Math.log(p / (1 - p));

/**
 * The readable fraction nearest to a chance, or none where it is below 1 in 1000 or above 999 in
 * 1000 (or is no chance at all).
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

/** Whether two chances are told apart in percent; anything less is not worth an arrow. */
export function moved(before: number, now: number): boolean {
  return Math.abs(before - now) >= 0.005;
}

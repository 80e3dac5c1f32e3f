/** Numbers in words: the other half of `words.ts`. */
import { nearestOdds, percent } from "./odds.ts";

const number = new Intl.NumberFormat("en", { maximumFractionDigits: 0 });
const fine = new Intl.NumberFormat("en", { maximumFractionDigits: 1 });
/** As it was read: gaps come in hundredths of a millimetre and thousandths of an inch. */
export const read = new Intl.NumberFormat("en", { maximumSignificantDigits: 6 });

/** Plain money, no currency: the rate is in "your money". */
export const money = (x: number): string => (Math.abs(x) < 10 ? fine : number).format(x);

/** A chance as people say it. */
export function odds(p: number): string {
  if (p <= 0) return "no chance";
  if (p >= 1) return "certain";
  if (p < 0.001) return "less than 1 in 1,000";
  if (p > 0.999) return "as good as certain";
  const o = nearestOdds(p);
  return o === undefined ? percent(p) : `about ${number.format(o.in)} in ${number.format(o.of)}`;
}

export function minutes(x: number): string {
  if (x < 1) return "under 1 min";
  if (x < 100) return `about ${Math.round(x)} min`;
  return `about ${fine.format(Math.round(x / 30) / 2)} h`;
}

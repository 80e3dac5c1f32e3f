/** Numbers and lists, in the forms of the language that is spoken. */
import { nearestOdds } from "./odds.ts";

interface Forms {
  readonly whole: () => Intl.NumberFormat;
  readonly fine: () => Intl.NumberFormat;
  /** As it was read: gaps come in hundredths of a millimetre and thousandths of an inch. */
  readonly read: () => Intl.NumberFormat;
  readonly date: () => Intl.DateTimeFormat;
}

/** Each is made when it is first needed: making all of them takes longer than all else before the first screen. */
function formsOf(tag: string): Forms {
  const whole = once(() => new Intl.NumberFormat(tag, { maximumFractionDigits: 0 }));
  const fine = once(() => new Intl.NumberFormat(tag, { maximumFractionDigits: 1 }));
  const read = once(() => new Intl.NumberFormat(tag, { maximumSignificantDigits: 6 }));
  const date = once(() => new Intl.DateTimeFormat(tag, { dateStyle: "medium" }));
  return { whole, fine, read, date };
}

function once<T>(make: () => T): () => T {
  let made: T | undefined;
  return () => (made ??= make());
}

let forms = formsOf("en");

/** From now on numbers are written as this language writes them. */
export function writeAs(tag: string): void {
  forms = formsOf(tag);
}

export const number = (x: number): string => forms.whole().format(x);
export const fine = (x: number): string => forms.fine().format(x);
export const read = (x: number): string => forms.read().format(x);
/** To three digits: odds and factors. */
export const readShort = (x: number): string => read(Number(x.toPrecision(3)));
export const date = (milliseconds: number): string => forms.date().format(milliseconds);

/** Plain money, no currency: the rate is in "your money". */
export const money = (x: number): string => (Math.abs(x) < 10 ? fine : number)(x);

/** A chance in percent, exact enough to act on and no more; never a bare 0 or 100. */
export function percent(p: number): string {
  const value = p * 100;
  if (value > 0 && value < 0.1) return `<${fine(0.1)}\u202f%`;
  if (value < 100 && value > 99.9) return `>${fine(99.9)}\u202f%`;
  const digits = value > 0 && (value < 0.95 || value > 99.05) && value < 100 ? 1 : 0;
  return `${(digits ? fine : number)(value)}\u202f%`;
}

/** How a language says a chance. */
export interface ChanceWords {
  readonly none: string;
  readonly certain: string;
  readonly tiny: (of: string) => string;
  readonly huge: string;
  readonly about: (some: string, of: string) => string;
}

/** A chance as people say it. */
export function chance(p: number, say: ChanceWords): string {
  if (p <= 0) return say.none;
  if (p >= 1) return say.certain;
  if (p < 0.001) return say.tiny(number(1000));
  if (p > 0.999) return say.huge;
  const o = nearestOdds(p);
  return o === undefined ? percent(p) : say.about(number(o.in), number(o.of));
}

/** How a language says how long something takes. */
export interface DurationWords {
  readonly under: string;
  readonly minutes: (x: string) => string;
  readonly hours: (x: string) => string;
}

export function duration(minutes: number, say: DurationWords): string {
  if (minutes < 1) return say.under;
  if (minutes < 100) return say.minutes(number(minutes));
  return say.hours(fine(Math.round(minutes / 30) / 2));
}

/** Findings of which one is enough: a check, with its results that count if not every result does. */
export const required = (
  findings: readonly { readonly name: string; readonly results: readonly string[] }[],
  or: string,
): string =>
  findings
    .map(({ name, results }) => (results.length === 0 ? name : `${name}: ${results.join(` ${or} `)}`))
    .join("; ");

/** Formats numbers and lists in the language of the page. */
import { nearestOdds } from "./odds.ts";

interface Forms {
  readonly whole: () => Intl.NumberFormat;
  readonly fine: () => Intl.NumberFormat;
  /** For readings, with all their digits: gaps are in hundredths of a millimetre or thousandths of an inch. */
  readonly read: () => Intl.NumberFormat;
  readonly date: () => Intl.DateTimeFormat;
}

/** The formatters of a language, each made at its first use. Making all at once would delay the first screen. */
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

/** Sets the language in which numbers are written. */
export function writeAs(tag: string): void {
  forms = formsOf(tag);
}

export const number = (x: number): string => forms.whole().format(x);
export const fine = (x: number): string => forms.fine().format(x);
export const read = (x: number): string => forms.read().format(x);
/** A number to three digits, for odds and factors. */
export const readShort = (x: number): string => read(Number(x.toPrecision(3)));
export const date = (milliseconds: number): string => forms.date().format(milliseconds);

/** An amount of money without a currency: the user chooses the currency of the rate. */
export const money = (x: number): string => (Math.abs(x) < 10 ? fine : number)(x);

/** A chance in percent, as exact as needed to act on it; never a bare 0 or 100. */
export function percent(p: number): string {
  const value = p * 100;
  if (value > 0 && value < 0.1) return `<${fine(0.1)}\u202f%`;
  if (value < 100 && value > 99.9) return `>${fine(99.9)}\u202f%`;
  const digits = value > 0 && (value < 0.95 || value > 99.05) && value < 100 ? 1 : 0;
  return `${(digits ? fine : number)(value)}\u202f%`;
}

/** The words of a language for chances. */
export interface ChanceWords {
  readonly none: string;
  readonly certain: string;
  readonly tiny: (of: string) => string;
  readonly huge: string;
  readonly about: (some: string, of: string) => string;
}

/** A chance in words. */
export function chance(p: number, say: ChanceWords): string {
  if (p <= 0) return say.none;
  if (p >= 1) return say.certain;
  if (p < 0.001) return say.tiny(number(1000));
  if (p > 0.999) return say.huge;
  const o = nearestOdds(p);
  return o === undefined ? percent(p) : say.about(number(o.in), number(o.of));
}

/** The words of a language for durations. */
export interface DurationWords {
  readonly under: string;
  readonly minutes: (x: string) => string;
  readonly hours: (x: string) => string;
}

/** A shorter wait is not worth saying, in hours. */
export const SHORT_WAIT = 0.05;

export function duration(minutes: number, say: DurationWords): string {
  if (minutes < 1) return say.under;
  if (minutes < 100) return say.minutes(number(minutes));
  return say.hours(fine(Math.round(minutes / 30) / 2));
}

/** A list of findings of which one is enough: each check, with the results that count unless all do. */
export const required = (
  findings: readonly { readonly name: string; readonly results: readonly string[] }[],
  or: string,
): string =>
  findings
    .map(({ name, results }) => (results.length === 0 ? name : `${name}: ${results.join(` ${or} `)}`))
    .join("; ");

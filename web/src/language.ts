/** The languages that the page speaks. */
export type Language = "en" | "de";

export const LANGUAGES: readonly Language[] = ["en", "de"];

export const isLanguage = (text: unknown): text is Language =>
  LANGUAGES.some((language) => language === text);

/** The first of the reader's languages that the page speaks. */
export const languageOf = (wanted: readonly string[]): Language =>
  wanted.map((tag) => tag.slice(0, 2).toLowerCase()).find(isLanguage) ?? "en";

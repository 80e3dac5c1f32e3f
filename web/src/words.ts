/** What the page says, in the language that was chosen. */
import { languageOf, type Language } from "./language.ts";
import { writeAs } from "./say.ts";
import { en, type Words } from "./words/en.ts";

export type { Words };

/** The words of the language spoken; another object once another language is chosen. */
export let words: Words = en;

/** Speaks another language from now on. English is there; others are fetched when they are wanted. */
export async function speak(wanted: Language): Promise<void> {
  words = wanted === "de" ? (await import("./words/de.ts")).de : en;
  writeAs(words.tag);
}

export const usualLanguage = (): Language => languageOf(navigator.languages);

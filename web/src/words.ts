/** The words of the page in the chosen language. */
import { languageOf, type Language } from "./language.ts";
import { writeAs } from "./say.ts";
import { en, type Words } from "./words/en.ts";

export type { Words };

/** The words of the present language; a change of language assigns another object. */
export let words: Words = en;

/** Changes the language. English is built in; other languages are fetched when they are needed. */
export async function speak(wanted: Language): Promise<void> {
  words = wanted === "de" ? (await import("./words/de.ts")).de : en;
  writeAs(words.tag);
}

export const usualLanguage = (): Language => languageOf(navigator.languages);

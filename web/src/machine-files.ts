/** Where the machine descriptions are, and their words in other languages. */
import type { Language } from "./language.ts";

const FOLDER = "./engine/machines/";

const files = import.meta.glob<string>("./engine/machines/*.json", {
  eager: true,
  query: "?url",
  import: "default",
});

const german = import.meta.glob<string>("../words/de/*.json", {
  eager: true,
  query: "?url",
  import: "default",
});

async function fetched(url: string): Promise<string> {
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${response.status} ${response.statusText}`);
  return response.text();
}

/** The text of a description; none if there is no machine of that id. */
export async function descriptionOf(id: string): Promise<string | undefined> {
  const url = files[`${FOLDER}${id}.json`];
  return url === undefined ? undefined : fetched(url);
}

/** Its words in a language; none where they are English or nobody has written them yet. */
export async function wordsOf(id: string, language: Language): Promise<string | undefined> {
  const url = language === "de" ? german[`../words/de/${id}.json`] : undefined;
  return url === undefined ? undefined : fetched(url);
}

/** The addresses of the machine descriptions in every language. */
import type { Language } from "./language.ts";

type Files = Record<string, string>;

const english: Files = import.meta.glob<string>("./engine/machines/*.json", {
  eager: true,
  query: "?url",
  import: "default",
});

const german: Files = import.meta.glob<string>("./engine/machines/de/*.json", {
  eager: true,
  query: "?url",
  import: "default",
});

/** The text of a description; undefined if no machine has that id. */
export async function descriptionOf(id: string, language: Language): Promise<string | undefined> {
  const url =
    language === "de" ? german[`./engine/machines/de/${id}.json`] : english[`./engine/machines/${id}.json`];
  if (url === undefined) return undefined;
  const response = await fetch(url);
  if (!response.ok) throw new Error(`${response.status} ${response.statusText}`);
  return response.text();
}

/**
 * The first screen as markup. It is made when the page is built and stands in the page as it is fetched:
 * read, and a machine chosen, before any script is there. Never part of what a visitor loads.
 */
import { renderToString } from "preact-render-to-string";
import { App } from "./app.tsx";
import { LANGUAGES } from "./language.ts";
import { dispatch } from "./store/store.ts";
import { speak, words } from "./words.ts";

/** One for each language, by its tag. */
export async function firstScreens(): Promise<{ readonly tag: string; readonly html: string }[]> {
  const made = [];
  for (const language of LANGUAGES) {
    // oxlint-disable-next-line no-await-in-loop -- the page speaks one language at a time
    await speak(language);
    dispatch({ type: "speak", language });
    made.push({ tag: words.tag, html: renderToString(<App />) });
  }
  return made;
}

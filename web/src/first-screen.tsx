/**
 * The first screen as markup. The build puts it into the page, so that a visitor can read it and choose a machine
 * before any script has loaded. This file is never part of the page itself.
 */
import { renderToString } from "preact-render-to-string";
import { App } from "./app.tsx";
import { LANGUAGES } from "./language.ts";
import { dispatch } from "./store/store.ts";
import { speak, words } from "./words.ts";

/** Returns the first screen of each language with the tag of the language. */
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

/** What went wrong, in the engine or on the page itself. */
import type { JobFile, Trouble as EngineTrouble } from "./engine/halfsplit_wasm.js";

/** The page's own: the engine broke, or anything else, in the words of the reader. */
export interface OwnTrouble {
  readonly kind: "crash" | "page";
  readonly message: string;
}

/** The engine's complaint in fields, and the job it is about; or the page's own. */
export type Trouble = (EngineTrouble | OwnTrouble) & { readonly about?: JobFile };

/** Something of the page's own that did not work. */
export const ownTrouble = (message: string): Trouble => ({ kind: "page", message });

/** Whether something thrown is a complaint in fields, the engine's or the page's. */
export function isTrouble(thrown: unknown): thrown is Trouble {
  return (
    typeof thrown === "object" &&
    thrown !== null &&
    !(thrown instanceof Error) &&
    "kind" in thrown &&
    typeof thrown.kind === "string"
  );
}

/** Errors of the engine and of the page itself. */
import type { JobFile, Trouble as EngineTrouble } from "./engine/halfsplit_wasm.js";

/** An error of the page itself, such as a crash of the engine, in the user's language. */
export interface OwnTrouble {
  readonly kind: "crash" | "page";
  readonly message: string;
}

/** An error of the engine, in fields, or of the page itself, with the job that it is about. */
export type Trouble = (EngineTrouble | OwnTrouble) & { readonly about?: JobFile };

/** Makes an error of the page itself. */
export const ownTrouble = (message: string): Trouble => ({ kind: "page", message });

/** Whether a thrown value is an error in fields, of the engine or of the page. */
export function isTrouble(thrown: unknown): thrown is Trouble {
  return (
    typeof thrown === "object" &&
    thrown !== null &&
    !(thrown instanceof Error) &&
    "kind" in thrown &&
    typeof thrown.kind === "string"
  );
}

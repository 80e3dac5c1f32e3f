/** What went wrong, in the engine or on the page itself. */
import type { Trouble as EngineTrouble, TroubleKind } from "./engine/halfsplit_wasm.js";

/** The engine's kinds, and the page's own: the engine broke, an entry is no entry, and the rest. */
export type Kind = TroubleKind | "crash" | "entry" | "page";

export interface Trouble {
  readonly kind: Kind;
  /** For people; the engine's own words where it has any. */
  readonly message: string;
}

/** Whether something thrown is the engine's own, typed complaint. */
export function isEngineTrouble(thrown: unknown): thrown is EngineTrouble {
  return (
    typeof thrown === "object" &&
    thrown !== null &&
    !(thrown instanceof Error) &&
    "kind" in thrown &&
    typeof thrown.kind === "string" &&
    "message" in thrown &&
    typeof thrown.message === "string"
  );
}

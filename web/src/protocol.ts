/**
 * What the page and the worker say to each other. One request, one answer, joined by an id; the
 * types of arguments and values are the engine's own.
 */
import type * as Engine from "./engine/halfsplit_wasm.js";
import type { MachineFile } from "./engine/halfsplit_wasm.js";
import type { Trouble } from "./trouble.ts";

/** The functions of the engine that the page calls, and two of the worker's own. */
export type Api = Pick<
  typeof Engine,
  | "assess"
  | "sheet"
  | "paste"
  | "course"
  | "arithmetic"
  | "graph"
  | "exercise"
  | "take"
  | "reveal"
  | "play"
  | "demo_job"
  | "link_text"
  | "linked"
  | "fit"
  | "parse_job"
> & {
  /** A machine's description, in the worker's language. */
  readonly describe: (id: string) => MachineFile;
  /** The mark of everything in its description that answers depend on. */
  readonly fingerprint: (id: string) => string;
};

export type Call = keyof Api;

/** Arguments of a call. */
export type Arguments<C extends Call> = Parameters<Api[C]>;

/** What a call gives back. */
export type Value<C extends Call> = ReturnType<Api[C]>;

/** Page to worker. */
export interface Request<C extends Call = Call> {
  readonly id: number;
  readonly call: C;
  readonly args: Arguments<C>;
}

/** Worker to page. `fault` means that the engine itself broke and must be started again. */
export type Answer =
  | { readonly id: number; readonly value: Value<Call> }
  | { readonly id: number; readonly trouble: Trouble }
  | { readonly id: number; readonly fault: string };

/**
 * What the page and the worker say to each other. One request, one answer, joined by an id; the
 * types of arguments and values are the engine's own.
 */
import type * as Engine from "./engine/halfsplit_wasm.js";
import type { Trouble } from "./engine/halfsplit_wasm.js";

/** The functions of the engine that the page calls. */
export type Call =
  | "machines"
  | "machine"
  | "assess"
  | "demo_job"
  | "encode_link"
  | "decode_link";

/** The engine as the page sees it. */
export type Api = Pick<typeof Engine, Call>;

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

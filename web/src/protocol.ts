/**
 * What the page and its workers say to each other. One request, one answer, joined by an id; the
 * types of arguments and values are the engine's own.
 */
import type * as Bench from "./engine/halfsplit_wasm.js";
import type { MachineFile } from "./engine/halfsplit_wasm.js";
import type * as Study from "./engine/study/halfsplit_wasm.js";
import type { Trouble } from "./trouble.ts";

/** What the bench asks, and two functions of its worker's own. */
type BenchApi = Pick<typeof Bench, "advise" | "look_ahead" | "link_text" | "linked" | "fit" | "parse_job"> & {
  /** A machine's description, in the worker's language. */
  readonly describe: (id: string) => MachineFile;
  /** The mark of everything in its description that answers depend on. */
  readonly fingerprint: (id: string) => string;
};

/** What lessons, exercises, reasons and whatever leaves the bench ask. */
const STUDY = [
  "reasons",
  "sensitivity",
  "odds_history",
  "arithmetic",
  "graph",
  "exercise",
  "take",
  "reveal",
  "play",
  "sheet",
  "paste",
] as const;

/** The functions of the engine that the page calls. */
export type Api = BenchApi & Pick<typeof Study, (typeof STUDY)[number]>;

export type Call = keyof Api;

/** Whether a call is for the module that is fetched when a lesson, an exercise or a sheet is opened. */
export const isStudy = (call: Call): boolean => STUDY.some((one) => one === call);

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

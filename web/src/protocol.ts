/**
 * What the page and its workers say to each other. One request, one answer, joined by an id; the
 * types of arguments and values are the engine's own.
 */
import type * as Bench from "./engine/halfsplit_wasm.js";
import type { Assessment, JobFile, LookaheadProgress, MachineFile } from "./engine/halfsplit_wasm.js";
import type * as Study from "./engine/study/halfsplit_wasm.js";
import type { SensitivityReport } from "./engine/study/halfsplit_wasm.js";
import type { Trouble } from "./trouble.ts";

/** What the bench asks: functions of the engine, and functions of its worker. */
type BenchApi = Pick<typeof Bench, "link_text" | "linked" | "fit" | "parse_job"> & {
  /** The best assessment of a job so far. */
  readonly advise: (job: JobFile) => Assessment;
  /** Looks a little further ahead on a job. */
  readonly look_ahead: (job: JobFile) => LookaheadProgress;
  /** A machine's description, in the worker's language. */
  readonly describe: (id: string) => MachineFile;
  /** The mark of everything in its description that answers depend on. */
  readonly fingerprint: (id: string) => string;
};

/** What lessons, exercises and whatever leaves the bench ask of the engine. */
type StudyApi = Pick<
  typeof Study,
  | "reasons"
  | "odds_history"
  | "arithmetic"
  | "graph"
  | "exercise"
  | "take"
  | "reveal"
  | "play"
  | "sheet"
  | "paste"
> & {
  /** One more piece of the sensitivity analysis of a job. */
  readonly sensitivity: (job: JobFile) => SensitivityReport;
};

/** The calls of the module that is fetched when a lesson, an exercise or a sheet is opened. */
const STUDY: Record<keyof StudyApi, true> = {
  reasons: true,
  sensitivity: true,
  odds_history: true,
  arithmetic: true,
  graph: true,
  exercise: true,
  take: true,
  reveal: true,
  play: true,
  sheet: true,
  paste: true,
};

/** Whether a call is for that module. */
export const isStudy = (call: Call): boolean => call in STUDY;

/** The calls of the page. */
export type Api = BenchApi & StudyApi;

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

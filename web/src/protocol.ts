/**
 * The messages between the page and its workers. Each request has one answer with the same id. The
 * types of arguments and values are those of the engine.
 */
import type * as Bench from "./engine/halfsplit_wasm.js";
import type { Assessment, JobFile, LookaheadProgress, MachineFile } from "./engine/halfsplit_wasm.js";
import type * as Study from "./engine/study/halfsplit_wasm.js";
import type { SensitivityReport } from "./engine/study/halfsplit_wasm.js";
import type { Trouble } from "./trouble.ts";

/** The calls of the bench: functions of the engine and functions of its worker. */
type BenchApi = Pick<typeof Bench, "link_text" | "linked" | "fit" | "parse_job"> & {
  /** The best assessment of a job so far. */
  readonly advise: (job: JobFile) => Assessment;
  /** Does one more piece of the lookahead on a job. */
  readonly look_ahead: (job: JobFile) => LookaheadProgress;
  /** A machine's description, in the worker's language. */
  readonly describe: (id: string) => MachineFile;
  /** The fingerprint of everything in a machine's description that answers depend on. */
  readonly fingerprint: (id: string) => string;
};

/** The calls that go to the study module: reasons, lessons, exercises and sheets. */
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

/** The names of these calls. The study module is fetched when the first of them is made. */
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

/** Whether a call is for the study module. */
export const isStudy = (call: Call): boolean => call in STUDY;

/** The calls of the page. */
export type Api = BenchApi & StudyApi;

export type Call = keyof Api;

/** Arguments of a call. */
export type Arguments<C extends Call> = Parameters<Api[C]>;

/** The value that a call returns. */
export type Value<C extends Call> = ReturnType<Api[C]>;

/** A request from the page to a worker. */
export interface Request<C extends Call = Call> {
  readonly id: number;
  readonly call: C;
  readonly args: Arguments<C>;
}

/** An answer from a worker to the page. `fault` means that the engine crashed and must be restarted. */
export type Answer =
  | { readonly id: number; readonly value: Value<Call> }
  | { readonly id: number; readonly trouble: Trouble }
  | { readonly id: number; readonly fault: string };

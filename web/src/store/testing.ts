/** A small machine, its answers and jobs, for unit tests of the store. */
import type {
  Assessment,
  Check,
  JobFile,
  LookaheadProgress,
  MachineFile,
  StepAdvice,
  StepRecord,
} from "../engine/halfsplit_wasm.js";
import type { Trouble } from "../trouble.ts";
import type { Change } from "./change.ts";
import type { KeptJob } from "./kept-job.ts";
import { reduce, type Event } from "./reduce.ts";
import { INITIAL, type JobState, type State } from "./state.ts";

const check = (id: string): Partial<Check> => ({
  id,
  name: `Name of ${id}`,
  kind: "looked-at",
  how: "",
  minutes: 1,
  results: [{ id: "good", name: "good" }] as Check["results"],
});

/** A machine with the checks `air`, `spark` and `tank`. */
export const MACHINE = {
  id: "machine",
  name: "Machine",
  context: [],
  setups: [],
  tools: [],
  cautions: [],
  bypasses: [],
  repairs: [],
  attempt: { how: "", minutes: 1 },
  checks: ["air", "spark", "tank"].map(check),
} as unknown as MachineFile;

/** The record of a check. */
export const found = (id: string): StepRecord => ({ do: "check", check: id, result: "good" });

/** A job with a finding for each id. */
export const jobWith = (...ids: readonly string[]): JobFile => ({
  machine: "machine",
  steps: ids.map(found),
});

/** The advice to make a check, or to start the engine. */
export const advice = (id: string): StepAdvice =>
  ({ kind: id === "attempt" ? "attempt" : "check", id, name: `Name of ${id}` }) as StepAdvice;

const NOT_LOOKED: LookaheadProgress = { rounds: 0, done: 0, of: 8 };

/** An answer that ranks these steps; the first is advised. */
export function answerWith(ids: readonly string[], looked: Partial<LookaheadProgress> = {}): Assessment {
  const ranking = ids.map(advice);
  return {
    next: ranking[0] ?? null,
    ranking,
    set_aside: [],
    lookahead: { ...NOT_LOOKED, ...looked },
  } as unknown as Assessment;
}

export const REFUSAL: Trouble = { kind: "page", message: "cannot all be true" };
export const CRASH: Trouble = { kind: "crash", message: "the engine broke" };

export const after = (state: State, ...events: readonly Event[]): State => events.reduce(reduce, state);

/** The state after a change that the engine answers. */
export const agreed = (state: State, change: Change, assessment = answerWith(["air"])): State =>
  after(state, change, { type: "answered", change, assessment });

/** The change that puts a job on the bench. */
export const beginning = (file: JobFile, seed: number | null = null): Change => ({
  type: "begin",
  id: "mine",
  file,
  seed,
  withTrouble: false,
});

/** A page with a job on the bench. */
export const withJob = (file: JobFile, seed: number | null = null): State =>
  agreed(after(INITIAL, { type: "described", machine: MACHINE }), beginning(file, seed));

/** The job on the bench; throws if there is none. */
export function benchOf({ bench }: State): JobState {
  if (bench === null) throw new Error("there is no job on the bench");
  return bench;
}

export const recording = (id: string): Change => ({ type: "record", step: found(id), what: `found ${id}` });

/** A job as it is kept. */
export const keptJob = (part: Partial<KeptJob> = {}): KeptJob => ({
  id: "kept",
  revision: 3,
  changed: 0,
  job: jobWith("tank"),
  past: [{ job: jobWith(), what: "found tank" }],
  future: [],
  chosen: null,
  draft: { step: "", known: null, reading: { mode: "value", first: "", second: "", unit: null } },
  seed: null,
  ...part,
});

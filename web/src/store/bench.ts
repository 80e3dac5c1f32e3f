/** What the user has entered: the job, the way to undo it, and what is half entered. */
import { signal } from "@preact/signals";
import type { JobFile, Known, Outcome, Objective, Unit } from "../engine/halfsplit_wasm.js";
import type { StepKey } from "../catalogue.ts";

/** A state to go back or forward to, and the name of the change between. */
export interface Mark {
  readonly job: JobFile;
  readonly what: string;
}

export type ReadingMode = "value" | "over" | "between";

/** A reading as it is being typed. */
export interface ReadingDraft {
  readonly mode: ReadingMode;
  readonly first: string;
  readonly second: string;
  readonly unit: Unit | null;
}

/** What is half entered for the step in view. */
export interface StepDraft {
  /** The step it belongs to; for any other it counts as empty. */
  readonly step: string;
  readonly known: Known | null;
  readonly reading: ReadingDraft;
}

/** By id of a question, the id of its answer. */
export type Answers = Readonly<Record<string, string>>;

/** The intake as it is being filled in. Numbers stay text until the job starts. */
export interface IntakeDraft {
  readonly machine: string | null;
  /** What it did when it was last tried; none if it was not. */
  readonly tried: Outcome | null;
  /** None until somebody ticks: then the common tools. */
  readonly kit: readonly string[] | null;
  readonly rate: string;
  readonly handOver: string;
  readonly worth?: string;
  readonly spare?: Objective;
  readonly altitude: string;
  readonly altitudeUnit: "m" | "ft";
  /** Which population it comes from. */
  readonly settings?: Answers;
  /** What is fitted. */
  readonly fitted?: Answers;
  /** What the owner says, by question. */
  readonly told?: Answers;
}

export const EMPTY_READING: ReadingDraft = { mode: "value", first: "", second: "", unit: null };
export const EMPTY_DRAFT: StepDraft = { step: "", known: null, reading: EMPTY_READING };
export const EMPTY_INTAKE: IntakeDraft = {
  machine: null,
  tried: null,
  kit: null,
  rate: "",
  handOver: "",
  altitude: "",
  altitudeUnit: "m",
};

/** Stands where there must be a job and is none. */
export const NO_JOB: JobFile = { machine: "", steps: [] };

/** Which of the jobs kept is on the bench. */
export const current = signal<string | null>(null);
/** The seed of its hidden fault, if it is an exercise. */
export const seed = signal<number | null>(null);
export const job = signal<JobFile | null>(null);
export const past = signal<readonly Mark[]>([]);
export const future = signal<readonly Mark[]>([]);
/** The step the user chose instead of the advised one. */
export const chosen = signal<StepKey | null>(null);
export const draft = signal<StepDraft>(EMPTY_DRAFT);
/** What is half entered for a step. */
export const draftOf = (step: string): StepDraft =>
  draft.value.step === step ? draft.value : { ...EMPTY_DRAFT, step };
export const intake = signal<IntakeDraft>(EMPTY_INTAKE);
/** What the page shows. */
export type View = "intake" | "bench" | "class" | "sheet";
export const VIEWS: readonly View[] = ["intake", "bench", "class", "sheet"];
export const view = signal<View>("intake");

/** Drafts of what is half entered: a reading, a step, the intake form. */
import type { Provenance, Outcome, Objective, Unit } from "./engine/halfsplit_wasm.js";

export type ReadingMode = "value" | "over" | "between";

/** A reading as it is being typed. */
export interface ReadingDraft {
  readonly mode: ReadingMode;
  readonly first: string;
  readonly second: string;
  readonly unit: Unit | null;
}

/** The draft for the step in view. */
export interface StepDraft {
  /** The step it belongs to, as `kind:id`; the draft of any other step is empty. */
  readonly step: string;
  readonly known: Provenance | null;
  readonly reading: ReadingDraft;
}

/** The ids of answers by the ids of their questions. */
export type Answers = Readonly<Record<string, string>>;

/** The intake form as it is being filled in. Numbers stay text until the job starts. */
export interface IntakeDraft {
  readonly machine: string | null;
  /** The outcome of the last attempt before the job; null if there was none. */
  readonly tried: Outcome | null;
  /** The tools at hand; null, which stands for the common tools, until somebody ticks a tool. */
  readonly kit: readonly string[] | null;
  readonly rate: string;
  /** The cost of an hour of waiting. */
  readonly wait?: string;
  readonly handOver: string;
  readonly worth?: string;
  readonly spare?: Objective;
  readonly altitude: string;
  readonly altitudeUnit: "m" | "ft";
  /** The population that the machine comes from. */
  readonly settings?: Answers;
  /** What is fitted to the machine. */
  readonly fitted?: Answers;
  /** Whether the whole story is told. */
  readonly story?: boolean;
  /** The owner's answers by question. */
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

/** The draft if it belongs to this step, else an empty draft of this step. */
export const draftFor = (draft: StepDraft, step: string): StepDraft =>
  draft.step === step ? draft : { ...EMPTY_DRAFT, step };

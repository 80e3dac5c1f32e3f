/** The changes of a job that the engine must agree to. */
import type { JobFile, StepRecord } from "../engine/halfsplit_wasm.js";

/** A change of the job on the bench. `what` names it for undo and redo. */
export type Change =
  /** Puts another job on the bench. */
  | {
      readonly type: "begin";
      readonly id: string;
      readonly file: JobFile;
      /** The seed, if the job is an exercise. */
      readonly seed: number | null;
      /** Whether the job is put on the bench even if the engine refuses it. */
      readonly withTrouble: boolean;
    }
  /** Adds a step at the end. */
  | { readonly type: "record"; readonly step: StepRecord; readonly what: string }
  /** Replaces a record. */
  | { readonly type: "correct"; readonly place: number; readonly step: StepRecord; readonly what: string }
  /** Removes a record. */
  | { readonly type: "remove"; readonly place: number; readonly what: string }
  /** Changes tools, limits and what is fitted. */
  | { readonly type: "set-up"; readonly file: JobFile; readonly what: string }
  | { readonly type: "undo" }
  | { readonly type: "redo" }
  /** Assesses the present job again. */
  | { readonly type: "reassess" };

/** Applies a change to the job on the bench; undo and redo are changes too. */
import type { JobFile } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import type { Change } from "./change.ts";
import { EMPTY_DRAFT } from "../drafts.ts";
import { newJob, NO_LOOKAHEAD, type JobState } from "./state.ts";

/** How many changes can be undone. */
export const REMEMBERED = 200;

/** The job after a change, before the engine has looked at it; null where the change cannot be made. */
export function jobAfter(bench: JobState | null, change: Change): JobState | null {
  if (change.type === "begin") return newJob(change.id, change.file, change.seed);
  if (bench === null) return null;
  const steps = stepsOf(bench.file);
  switch (change.type) {
    case "record":
      return changed(bench, { ...bench.file, steps: [...steps, change.step] }, change.what);
    case "correct": {
      if (steps[change.place] === undefined) return null;
      const corrected = steps.map((old, i) => (i === change.place ? change.step : old));
      return changed(bench, { ...bench.file, steps: corrected }, change.what);
    }
    case "remove": {
      if (steps[change.place] === undefined) return null;
      const rest = steps.filter((_, i) => i !== change.place);
      return changed(bench, { ...bench.file, steps: rest }, change.what);
    }
    case "set-up":
      return changed(bench, change.file, change.what);
    case "undo":
      return undone(bench);
    case "redo":
      return redone(bench);
    case "reassess":
      return bench;
  }
}

/** The state with another job file. Drafts and answers about the present one are dropped. */
const withFile = (bench: JobState, file: JobFile): JobState => ({
  ...bench,
  exercise: bench.exercise && { ...bench.exercise, revealed: null },
  file,
  chosen: null,
  draft: EMPTY_DRAFT,
  lookahead: NO_LOOKAHEAD,
});

function changed(bench: JobState, file: JobFile, what: string): JobState {
  const past = [...bench.past, { job: bench.file, what }].slice(-REMEMBERED);
  return { ...withFile(bench, file), past, future: [] };
}

function undone(bench: JobState): JobState | null {
  const mark = bench.past.at(-1);
  if (mark === undefined) return null;
  const future = [...bench.future, { job: bench.file, what: mark.what }];
  return { ...withFile(bench, mark.job), past: bench.past.slice(0, -1), future };
}

function redone(bench: JobState): JobState | null {
  const mark = bench.future.at(-1);
  if (mark === undefined) return null;
  const past = [...bench.past, { job: bench.file, what: mark.what }];
  return { ...withFile(bench, mark.job), past, future: bench.future.slice(0, -1) };
}

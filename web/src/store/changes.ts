/** Changes of the job on the bench, each once the engine has agreed to it. */
import { recordLine } from "../catalogue.ts";
import type { Assessment, JobFile, MachineFile, StepRecord } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { words } from "../words.ts";
import { assess, knownAnswer, machineOf } from "./answers.ts";
import type { Change } from "./change.ts";
import { jobAfter } from "./history.ts";
import { holds } from "./reduce.ts";
import { dispatch, job, machine, state } from "./store.ts";

/** Settles when the last queued work is done. */
let last: Promise<unknown> = Promise.resolve();
/** How many pieces of work are running or queued. */
let waiting = 0;

/** Runs work on the job after all work queued before it. */
export function inTurn<T>(work: () => Promise<T>): Promise<T> {
  const idle = waiting === 0;
  waiting += 1;
  const mine = idle ? work() : last.then(work);
  last = mine.then(leave, leave);
  return mine;
}

const leave = (): void => {
  waiting -= 1;
};

/**
 * Makes a change if the engine accepts it. Otherwise the job stays as it was, and the reason is returned,
 * to be shown where the change was requested.
 */
async function make(change: Change): Promise<Trouble | null> {
  if (waiting === 0 && makeKnown(change)) return null;
  return inTurn(() => workOut(change));
}

/** Makes a change whose answer is in the cache, at once and with one drawing. Returns whether it was. */
function makeKnown(change: Change): boolean {
  const after = jobAfter(state.peek().bench, change);
  const described = after && state.peek().machines[after.file.machine];
  const assessment = described ? knownAnswer(after.file) : undefined;
  if (assessment === undefined) return false;
  dispatch(change, { type: "answered", change, assessment });
  return true;
}

async function workOut(change: Change): Promise<Trouble | null> {
  const after = jobAfter(state.peek().bench, change);
  if (after === null) return null;
  // The requests are sent before the page is drawn.
  const asked = ask(after.file);
  dispatch(change);
  try {
    await asked.description;
    dispatch({ type: "answered", change, assessment: await asked.answer });
    return null;
  } catch (thrown) {
    const trouble = troubleOf(thrown);
    const type = holds(state.peek(), change, trouble) ? "unanswered" : "refused";
    dispatch({ type, change, trouble });
    return type === "refused" ? trouble : null;
  }
}

/** Requests the description and the answer for a job. The engine works while the page is drawn. */
function ask(file: JobFile): { description: Promise<MachineFile>; answer: Promise<Assessment> } {
  const description = machineOf(file.machine);
  const answer = assess(file);
  // The answer is awaited after the description. If both fail, the description's error is the one reported.
  answer.catch(() => undefined);
  return { description, answer };
}

/** Makes a change unless another one is running: a second tap is not a second finding. */
const makeAlone = (change: Change): Promise<Trouble | null> =>
  waiting > 0 ? Promise.resolve(null) : make(change);

/** Puts another job on the bench; the present one stays on the shelf. */
export const begin = (
  file: JobFile,
  seed: number | null = null,
  withTrouble = false,
): Promise<Trouble | null> => make({ type: "begin", id: crypto.randomUUID(), file, seed, withTrouble });

/** Changes tools, limits and what is fitted. */
export const setUp = (file: JobFile): Promise<Trouble | null> =>
  make({ type: "set-up", file, what: words.changes.settings });

/** Assesses the job again: at the start, and after a crash. */
export const reassess = (): Promise<unknown> => inTurn(() => workOut({ type: "reassess" }));

/** Adds a step at the end. */
export const record = (step: StepRecord): Promise<Trouble | null> =>
  makeAlone({ type: "record", step, what: recordLine(machine.peek(), step) });

/** Replaces a record. */
export const correct = (place: number, step: StepRecord): Promise<Trouble | null> =>
  makeAlone({ type: "correct", place, step, what: words.changes.changed(recordLine(machine.peek(), step)) });

/** Removes a record. */
export function remove(place: number): Promise<Trouble | null> {
  const gone = stepsOf(job.peek())[place];
  if (gone === undefined) return Promise.resolve(null);
  return makeAlone({ type: "remove", place, what: words.changes.removed(recordLine(machine.peek(), gone)) });
}

/** Goes back by one change. */
export const undo = (): Promise<unknown> => makeAlone({ type: "undo" });

/** Goes forward by one change that was undone. */
export const redo = (): Promise<unknown> => makeAlone({ type: "redo" });

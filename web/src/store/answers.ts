/** What the engine says about the job, and the one way in which a job changes. */
import { batch, signal } from "@preact/signals";
import type {
  Assessment,
  JobFile,
  MachineFile,
  StepRecord,
} from "../engine/halfsplit_wasm.js";
import { keyOf, recordLine } from "../catalogue.ts";
import { engine } from "../engine-client.ts";
import { isTrouble, ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { chosen, current, draft, EMPTY_DRAFT, future, job, past, seed, view, type Mark } from "./bench.ts";

export const machine = signal<MachineFile | null>(null);
/** Of the job as it stands; none while it is worked out or where `trouble` says why not. */
export const assessment = signal<Assessment | null>(null);
export const trouble = signal<Trouble | null>(null);
/** Why the last undo or redo did not work. */
export const undoTrouble = signal<Trouble | null>(null);
/** A change is being worked out; nothing else can be changed meanwhile. */
export const pending = signal(false);

/** What was recorded just now, while the engine works out whether it can be and what follows. */
export const coming = signal<StepRecord | null>(null);

/** How many changes can be undone. */
const REMEMBERED = 200;

/** Whatever was thrown, as trouble. */
export function troubleOf(thrown: unknown): Trouble {
  if (isTrouble(thrown)) return thrown;
  return ownTrouble(thrown instanceof Error ? thrown.message : words.trouble.unknown);
}

const described = new Map<string, MachineFile>();

/** A machine's description; asked for once. */
export async function machineOf(id: string): Promise<MachineFile> {
  const known = described.get(id);
  if (known) return known;
  const found = await engine.call("describe", id);
  described.set(id, found);
  return found;
}

/** Answers that may be asked for again: of what was undone, and of what the next result may be. */
const answered = new Map<string, Assessment>();
const ANSWERS_KEPT = 40;

/** Whatever was said in another language is no longer of use. */
export function forgetAnswers(): void {
  answered.clear();
  described.clear();
}

/** The odds and the advice on a job: the best answer so far, or else the first one. */
export async function assess(present: JobFile): Promise<Assessment> {
  const text = JSON.stringify(present);
  return remember(text, answered.get(text) ?? (await engine.call("advise", present)));
}

/** Puts a better answer on the job in hand in place of the one that is there. */
export function improve(better: Assessment): void {
  assessment.value = remember(JSON.stringify(job.value), better);
}

function remember(text: string, answer: Assessment): Assessment {
  answered.delete(text);
  answered.set(text, answer);
  for (const oldest of answered.keys()) {
    if (answered.size <= ANSWERS_KEPT) break;
    answered.delete(oldest);
  }
  return answer;
}

/**
 * Asks about a job. The questions are on their way when this returns: the engine works on them while
 * the page draws that it does.
 */
function ask(present: JobFile): { description: Promise<MachineFile>; answer: Promise<Assessment> } {
  const description = machineOf(present.machine);
  const answer = assess(present);
  // It is waited for after the description, and fails with it.
  answer.catch(() => undefined);
  return { description, answer };
}

interface Change {
  readonly to: JobFile;
  /** This is another job altogether. */
  readonly another?: { readonly seed: number | null; readonly withTrouble: boolean };
  /** The step that was recorded, if that is the change. */
  readonly recorded?: StepRecord;
  readonly past: readonly Mark[];
  readonly future: readonly Mark[];
}

/** One after the other: the end of whatever is being worked out. */
let settled: Promise<unknown> = Promise.resolve();
/** How many wait for that. */
let waiting = 0;

function inTurn<T>(work: () => Promise<T>): Promise<T> {
  waiting += 1;
  const mine = settled.then(async () => {
    pending.value = true;
    try {
      return await work();
    } finally {
      waiting -= 1;
      pending.value = false;
    }
  });
  settled = mine.catch(() => undefined);
  return mine;
}

/**
 * Puts a job in place of the present one, once the engine has agreed to it. Trouble comes back to
 * the caller, to be shown where it arose, and the present job stays. Two exceptions: a job that is
 * in trouble already may be put right bit by bit, and a crash says nothing against the change.
 */
async function settle(make: () => Change): Promise<Trouble | null> {
  if (waiting === 0 && takeKnown(make())) return null;
  return inTurn(() => take(make()));
}

/** What was worked out ahead is shown at once: there is nothing to wait for, and nothing is drawn twice. */
function takeKnown(wanted: Change): boolean {
  const description = described.get(wanted.to.machine);
  const text = JSON.stringify(wanted.to);
  const answer = answered.get(text);
  if (description === undefined || answer === undefined) return false;
  remember(text, answer);
  batch(() => {
    machine.value = description;
    commit(wanted, answer, null);
  });
  return true;
}

function commit({ to, another, ...marks }: Change, answer: Assessment | null, found: Trouble | null): void {
  assessment.value = answer;
  trouble.value = found;
  if (another) {
    current.value = crypto.randomUUID();
    seed.value = another.seed;
  }
  job.value = to;
  past.value = marks.past.slice(-REMEMBERED);
  future.value = marks.future;
  draft.value = EMPTY_DRAFT;
  chosen.value = null;
  coming.value = null;
  if (another || view.value === "intake") view.value = "bench";
}

async function take(wanted: Change): Promise<Trouble | null> {
  const { to, another, recorded = null } = wanted;
  const asked = ask(to);
  coming.value = recorded;
  try {
    const description = await asked.description;
    if (another) machine.value = description;
    const answer = await asked.answer;
    batch(() => {
      machine.value = description;
      commit(wanted, answer, null);
    });
    return null;
  } catch (thrown) {
    const found = troubleOf(thrown);
    const mending = another === undefined ? trouble.value !== null : another.withTrouble;
    if (found.kind !== "crash" && !mending) {
      coming.value = null;
      return found;
    }
    batch(() => commit(wanted, null, found));
    return null;
  }
}

const changed = (to: JobFile, what: string): Change => ({
  to,
  past: job.value === null ? [] : [...past.value, { job: job.value, what }],
  future: [],
});

/** Changes the job and remembers how to undo that. */
export const change = (to: JobFile, what: string): Promise<Trouble | null> =>
  settle(() => changed(to, what));

/** Puts another job on the bench; the present one stays on the shelf. */
export const begin = (
  to: JobFile,
  hidden: number | null = null,
  withTrouble = false,
): Promise<Trouble | null> =>
  settle(() => ({ to, past: [], future: [], another: { seed: hidden, withTrouble } }));

/** Another job lies there; what was said of the one before is no longer shown. */
export function clearAnswer(): void {
  assessment.value = null;
  trouble.value = null;
}

/** Works the job out once more: at the start, and after a crash. */
export function reassess(): Promise<void> {
  return inTurn(async () => {
    const present = job.value;
    if (present === null) return;
    try {
      const asked = ask(present);
      machine.value = await asked.description;
      assessment.value = await asked.answer;
      trouble.value = null;
    } catch (thrown) {
      assessment.value = null;
      trouble.value = troubleOf(thrown);
    }
  });
}

export const stepsOf = (file: JobFile | null): readonly StepRecord[] => file?.steps ?? [];

/** Whether an answer is there already. */
export const isAnswered = (present: JobFile): boolean => answered.has(JSON.stringify(present));

/** Adds a step at the end. */
export function record(step: StepRecord): Promise<Trouble | null> {
  const present = job.value;
  // A second tap before the first is worked out is not a second finding.
  if (present === null || pending.value) return Promise.resolve(null);
  const to = { ...present, steps: [...stepsOf(present), step] };
  return settle(() => ({ ...changed(to, recordLine(machine.value, step)), recorded: step }));
}

/** Puts another record in the place of one. */
export function correct(place: number, step: StepRecord): Promise<Trouble | null> {
  const present = job.value;
  if (present === null || pending.value) return Promise.resolve(null);
  const steps = stepsOf(present).map((old, i) => (i === place ? step : old));
  return change({ ...present, steps }, words.changes.changed(recordLine(machine.value, step)));
}

/** Takes a record out. */
export function remove(place: number): Promise<Trouble | null> {
  const present = job.value;
  const gone = stepsOf(present)[place];
  if (present === null || gone === undefined || pending.value) return Promise.resolve(null);
  const steps = stepsOf(present).filter((_, i) => i !== place);
  return change({ ...present, steps }, words.changes.removed(recordLine(machine.value, gone)));
}

/** Goes back by one change. */
export async function undo(): Promise<void> {
  const mark = past.value.at(-1);
  if (mark === undefined || pending.value) return;
  const present = job.value;
  if (present === null) return;
  const ahead = [...future.value, { job: present, what: mark.what }];
  const behind = past.value.slice(0, -1);
  const to = mark.job;
  undoTrouble.value = await settle(() => ({ to, past: behind, future: ahead }));
}

/** Goes forward by one change that was undone. */
export async function redo(): Promise<void> {
  const mark = future.value.at(-1);
  const present = job.value;
  if (!mark || present === null || pending.value) return;
  const to = mark.job;
  const behind = [...past.value, { job: present, what: mark.what }];
  const ahead = future.value.slice(0, -1);
  undoTrouble.value = await settle(() => ({ to, past: behind, future: ahead }));
}

/** Whether a step has been done at least once. */
export const doneBefore = (file: JobFile | null, kind: string, id: string): boolean =>
  stepsOf(file).some((step) => {
    const key = keyOf(step);
    return key.kind === kind && key.id === id;
  });

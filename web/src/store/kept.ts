/** Keeps everything entered in the browser, so that a reload, a crash or another window loses nothing. */
import { effect } from "@preact/signals";
import { afterPaint } from "../after-paint.ts";
import { troubleOf, troubleText } from "../trouble-words.ts";
import { words } from "../words.ts";
import { inTurn, reassess } from "./changes.ts";
import { EMPTY_INTAKE, type IntakeDraft } from "../drafts.ts";
import { isThere, takeOver } from "./first-keeping.ts";
import { jobAfter } from "./history.ts";
import { hold, letGo, putDown } from "./in-hand.ts";
import { keptJobFrom, type KeptJob } from "./kept-job.ts";
import { isIntake } from "../shapes.ts";
import * as shelves from "./shelf.ts";
import type { JobState } from "./state.ts";
import { bench, dispatch, intake, jobId, screen, shelf, state } from "./store.ts";
import { hasLastJob, recallWindow, rememberWindow } from "./window-memory.ts";

/** The job on the bench as it was last saved or read. */
let lastKept: KeptJob | null = null;
/** That job, until it is in the database. */
let onItsWay: KeptJob | null = null;
/** The jobs still to be written, by id: the newest state of each. */
const due = new Map<string, KeptJob>();

function arrived(kept: KeptJob): void {
  if (onItsWay === kept) onItsWay = null;
  letGo(kept);
}

/** Other windows of this page. */
let channel: BroadcastChannel | undefined;
const others = (): BroadcastChannel => (channel ??= new BroadcastChannel("halfsplit"));

const tell = (text: string): void => dispatch({ type: "notice", notice: "keeping", value: text });

function tellTrouble(thrown: unknown): void {
  tell(words.trouble.notKept(troubleText(troubleOf(thrown), null).text));
}

/** Settles when the last queued write is done. Writes run in order, so that the newest state wins. */
let written: Promise<unknown> = Promise.resolve();
function afterWriting(work: () => Promise<unknown>): Promise<unknown> {
  written = written.then(work).catch(tellTrouble);
  return written;
}

async function readShelf(): Promise<void> {
  const all = await shelves.allJobs();
  const whole = all.map(keptJobFrom).filter((kept) => kept !== undefined);
  // Unreadable jobs stay in the database: a later version of the page may be able to read them.
  if (whole.length < all.length) tell(words.trouble.storedBroken(words.trouble.notAJob));
  dispatch({ type: "shelved", shelf: whole.toSorted((a, b) => b.changed - a.changed) });
}

/** Puts a kept job on the bench. */
function takeDown(kept: KeptJob): void {
  lastKept = kept;
  dispatch({ type: "take-down", kept });
}

/** Opens another job from the shelf. */
export async function openKept(id: string): Promise<void> {
  await write(id);
  const kept = keptJobFrom(await shelves.jobOf(id).catch(tellTrouble));
  if (kept === undefined) return;
  // A step that is still being computed belongs to the previous job.
  await inTurn(async () => {
    takeDown(kept);
    dispatch({ type: "show", screen: "bench" });
  });
  await reassess();
}

/** Deletes a job; it can be restored until the page is left. */
export function removeKept(kept: KeptJob): Promise<unknown> {
  due.delete(kept.id);
  return afterWriting(async () => {
    await shelves.dropJob(kept.id);
    if (lastKept?.id === kept.id) lastKept = null;
    if (onItsWay?.id === kept.id) onItsWay = null;
    dispatch({ type: "throw-away", kept });
    others().postMessage(kept.id);
    await readShelf();
  });
}

export function putBack(kept: KeptJob): Promise<unknown> {
  return afterWriting(async () => {
    await shelves.putJob({ ...kept, revision: kept.revision + 1 });
    dispatch({ type: "notice", notice: "removed", value: null });
    others().postMessage(kept.id);
    await readShelf();
  });
}

/** A job as it is saved next. */
function toKeep(present: JobState): KeptJob {
  const { id, file, past, future, chosen, draft, exercise } = present;
  const revision = (lastKept?.id === id ? lastKept.revision : 0) + 1;
  const seed = exercise?.seed ?? null;
  return { id, job: file, past, future, chosen, draft, seed, revision, changed: Date.now() };
}

const SAVED = ["id", "job", "past", "future", "chosen", "draft", "seed"] as const;

/** Saves the job on the bench, if it has changed. */
function save(present: JobState | null): void {
  if (present === null) return;
  const kept = toKeep(present);
  const before = lastKept;
  if (before && SAVED.every((field) => before[field] === kept[field])) return;
  lastKept = kept;
  onItsWay = kept;
  due.set(kept.id, kept);
  // The user waits for the answer, so it is drawn before the job is written.
  afterPaint(() => void write(kept.id));
}

/** The job with the step that is still being computed, so that a reload does not lose it. */
function withComing(): KeptJob | null {
  const { bench: present, pending } = state.peek();
  const after = pending?.type === "record" ? jobAfter(present, pending) : null;
  return after && toKeep(after);
}

/** Writes a job to the database if it has changes to write. */
function write(id: string): Promise<unknown> | undefined {
  const kept = due.get(id);
  if (kept === undefined) return undefined;
  due.delete(id);
  return afterWriting(async () => {
    if (await shelves.putJob(kept)) {
      arrived(kept);
      others().postMessage(id);
    } else {
      await split(kept);
    }
    await readShelf();
  });
}

/** Continues the job as a second one, because another window has written a newer version of it. */
async function split(kept: KeptJob): Promise<void> {
  const second: KeptJob = { ...kept, id: crypto.randomUUID(), revision: 1 };
  await shelves.putJob(second);
  arrived(kept);
  due.delete(kept.id);
  if (lastKept?.id === kept.id) lastKept = second;
  dispatch({ type: "split", id: kept.id, second: second.id });
  tell(words.trouble.twice);
  others().postMessage(second.id);
}

/** Handles the message that another window has changed a job. */
async function heard(id: unknown): Promise<void> {
  await readShelf();
  // A change that is being computed here was entered earlier and comes first.
  const isNewer = await inTurn(async () => {
    const kept = shelf.peek().find((one) => one.id === id);
    if (kept === undefined || kept.id !== bench.peek()?.id) return false;
    if (kept.revision <= (lastKept?.revision ?? 0)) return false;
    takeDown(kept);
    return true;
  });
  if (isNewer) await reassess();
}

/** Restores what this window remembers. Returns whether a job may still come from the database. */
export function recall(): boolean {
  const mine = recallWindow();
  if (mine?.intake) dispatch({ type: "fill-in", intake: mine.intake });
  if (isThere()) return true;
  return mine ? mine.job !== null : hasLastJob();
}

async function restore(): Promise<void> {
  const first = takeOver();
  if (first?.trouble) tell(first.trouble);
  if (first?.kept) await shelves.putJob(first.kept);
  const desk = await shelves.deskOf();
  const mine = recallWindow();
  const found = first?.intake ?? mine?.intake ?? desk?.intake;
  // The user may have filled in the first screen already.
  if (isIntake(found) && intake.peek() === EMPTY_INTAKE) {
    dispatch({ type: "fill-in", intake: found as IntakeDraft });
  }
  first?.done();
  await putDown();
  await readShelf();
  const id = mine ? mine.job : (first?.kept?.id ?? desk?.last ?? null);
  const kept = shelf.peek().find((one) => one.id === id);
  if (kept === undefined || bench.peek() !== null) return;
  takeDown(kept);
  dispatch({ type: "show", screen: mine?.screen ?? "bench" });
}

/** Restores what was kept, then keeps every change. */
export async function keep(): Promise<void> {
  await restore().catch(tellTrouble);
  effect(() => save(bench.value));
  effect(() => {
    const desk = { intake: intake.value, last: jobId.value };
    rememberWindow({ job: desk.last, screen: screen.value, intake: desk.intake });
    void afterWriting(() => shelves.putDesk(desk));
  });
  // A reload does not wait for the database.
  addEventListener("pagehide", () => {
    const kept = withComing() ?? onItsWay;
    if (kept !== null) hold(kept);
  });
  others().addEventListener("message", (event) => void heard(event.data).catch(tellTrouble));
}

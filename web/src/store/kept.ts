/** Keeps everything entered in the browser, so that a reload, a crash or another window loses nothing. */
import { batch, effect, signal } from "@preact/signals";
import { recordLine } from "../catalogue.ts";
import { troubleText } from "../trouble-words.ts";
import { afterPaint } from "../ui/after-paint.ts";
import { words } from "../words.ts";
import { clearAnswer, coming, machine, reassess, stepsOf, troubleOf } from "./answers.ts";
import * as bench from "./bench.ts";
import { isThere, takeOver } from "./first-keeping.ts";
import { hold, letGo, putDown } from "./in-hand.ts";
import { isIntake } from "./shapes.ts";
import * as shelves from "./shelf.ts";
import { isKeptJob, type KeptJob } from "./shelf.ts";

/** Which job this window has on the bench, and what it shows of it. */
const WINDOW = "halfsplit/window";

/** The job last worked on in any window: whether there is one must be known before the shelves are open. */
const LAST = "halfsplit/last";

/** What went wrong with keeping, in words. */
export const keepingTrouble = signal<string | null>(null);
/** The jobs kept, newest first; the one on the bench among them. */
export const shelf = signal<readonly KeptJob[]>([]);
/** The job last taken off the shelf for good, until the page is left. */
export const removed = signal<KeptJob | null>(null);

/** The job on the bench as it was last put away or taken out. */
let lastKept: KeptJob | null = null;
/** The same until the shelves have it. */
let onItsWay: KeptJob | null = null;

function arrived(kept: KeptJob): void {
  if (onItsWay === kept) onItsWay = null;
  letGo(kept);
}

/** Other windows of this page. */
let channel: BroadcastChannel | undefined;
const others = (): BroadcastChannel => (channel ??= new BroadcastChannel("halfsplit"));

function told(thrown: unknown): void {
  keepingTrouble.value = words.trouble.notKept(troubleText(troubleOf(thrown), null).text);
}

/** One after the other, so that an older state never comes after a newer one. */
let settled: Promise<unknown> = Promise.resolve();
function inTurn(work: () => Promise<unknown>): Promise<unknown> {
  settled = settled.then(work).catch(told);
  return settled;
}

async function readShelf(): Promise<void> {
  const all = await shelves.allJobs();
  const whole = all.filter(isKeptJob);
  // What cannot be read stays where it is: a later version of the page may know how.
  if (whole.length < all.length) keepingTrouble.value = words.trouble.storedBroken(words.trouble.notAJob);
  shelf.value = whole.toSorted((a, b) => b.changed - a.changed);
}

/** Puts a job that was kept on the bench. */
function lay(kept: KeptJob): void {
  batch(() => {
    lastKept = kept;
    bench.current.value = kept.id;
    bench.job.value = kept.job;
    bench.past.value = kept.past;
    bench.future.value = kept.future;
    bench.chosen.value = kept.chosen;
    bench.draft.value = kept.draft;
    bench.seed.value = kept.seed;
    clearAnswer();
  });
}

/** Takes another job from the shelf. */
export async function openKept(id: string): Promise<void> {
  await write(id);
  const kept = await shelves.jobOf(id).catch(told);
  if (!isKeptJob(kept)) return;
  lay(kept);
  bench.view.value = "bench";
  await reassess();
}

/** Takes a job off the shelf; it can be put back until the page is left. */
export function removeKept(kept: KeptJob): Promise<unknown> {
  due.delete(kept.id);
  return inTurn(async () => {
    await shelves.dropJob(kept.id);
    removed.value = kept;
    if (bench.current.value === kept.id) {
      batch(() => {
        lastKept = null;
        bench.current.value = null;
        bench.job.value = null;
        clearAnswer();
      });
    }
    others().postMessage(kept.id);
    await readShelf();
  });
}

export function putBack(kept: KeptJob): Promise<unknown> {
  return inTurn(async () => {
    await shelves.putJob({ ...kept, revision: kept.revision + 1 });
    removed.value = null;
    others().postMessage(kept.id);
    await readShelf();
  });
}

const onBench = () => ({
  job: bench.job.value,
  past: bench.past.value,
  future: bench.future.value,
  chosen: bench.chosen.value,
  draft: bench.draft.value,
  seed: bench.seed.value,
});

/** Puts the job on the bench away, if it is not as it was. */
function putAway(): void {
  const id = bench.current.value;
  const { job, ...rest } = onBench();
  if (id === null || job === null) return;
  const last = lastKept?.id === id ? lastKept : null;
  if (last && last.job === job && Object.entries(rest).every(([k, v]) => last[k as "past"] === v)) {
    return;
  }
  const kept: KeptJob = { id, job, ...rest, revision: (last?.revision ?? 0) + 1, changed: Date.now() };
  lastKept = kept;
  onItsWay = kept;
  due.set(id, kept);
  // What the reader waits for is the answer: it is drawn before anything is written.
  afterPaint(() => void write(id));
}

/** The job with the line that is still being worked out: what is on the list is not lost. */
function withComing(): KeptJob | null {
  const next = coming.value;
  const id = bench.current.value;
  const { job, past, seed } = onBench();
  if (next === null || id === null || job === null) return null;
  return {
    id,
    job: { ...job, steps: [...stepsOf(job), next] },
    past: [...past, { job, what: recordLine(machine.value, next) }],
    future: [],
    chosen: null,
    draft: bench.EMPTY_DRAFT,
    seed,
    revision: (lastKept?.revision ?? 0) + 1,
    changed: Date.now(),
  };
}

/** What is to be written yet, by job: the newest state of each. */
const due = new Map<string, KeptJob>();

/** Writes a job to the shelves, if that is due. */
function write(id: string): Promise<unknown> | undefined {
  const kept = due.get(id);
  if (kept === undefined) return undefined;
  due.delete(id);
  return inTurn(async () => {
    if (await shelves.putJob(kept)) {
      arrived(kept);
      others().postMessage(id);
    } else {
      // Another window was faster. Its job stays; this one goes on as a second one.
      const second: KeptJob = { ...kept, id: crypto.randomUUID(), revision: 1 };
      await shelves.putJob(second);
      arrived(kept);
      lastKept = second;
      bench.current.value = second.id;
      keepingTrouble.value = words.trouble.twice;
      others().postMessage(second.id);
    }
    await readShelf();
  });
}

/** Another window has changed a job. */
async function heard(id: unknown): Promise<void> {
  await readShelf();
  if (id !== bench.current.value) return;
  const kept = shelf.value.find((one) => one.id === id);
  if (kept === undefined || kept.revision <= (lastKept?.revision ?? 0)) return;
  lay(kept);
  await reassess();
}

interface OfWindow {
  readonly job: string | null;
  readonly view: bench.View;
  /** Held here as well: what goes to the shelves is not there yet when a reload comes at once. */
  readonly intake?: unknown;
}

function windowSays(): OfWindow | undefined {
  try {
    return JSON.parse(sessionStorage.getItem(WINDOW) ?? "") as OfWindow;
  } catch {
    return undefined;
  }
}

/** What this window held, at once; whether a job may be there for the bench, which takes a moment. */
export function recall(): boolean {
  const mine = windowSays();
  if (isIntake(mine?.intake)) bench.intake.value = mine?.intake as bench.IntakeDraft;
  if (isThere()) return true;
  return mine ? mine.job !== null : local(LAST) !== null;
}

/** Something kept by this page, or nothing where that is refused. */
function local(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

async function restore(): Promise<void> {
  const first = takeOver();
  if (first?.trouble) keepingTrouble.value = first.trouble;
  if (first?.kept) await shelves.putJob(first.kept);
  const desk = await shelves.deskOf();
  const mine = windowSays();
  const intake = first?.intake ?? mine?.intake ?? desk?.intake;
  // The first screen may be in use already.
  if (isIntake(intake) && bench.intake.value === bench.EMPTY_INTAKE) {
    bench.intake.value = intake as bench.IntakeDraft;
  }
  first?.done();
  await putDown();
  await readShelf();
  const id = mine ? mine.job : (first?.kept?.id ?? desk?.last ?? null);
  const kept = shelf.value.find((one) => one.id === id);
  if (kept === undefined || bench.job.value !== null) return;
  lay(kept);
  bench.view.value = mine && bench.VIEWS.includes(mine.view) ? mine.view : "bench";
}

/** Restores, and from then on keeps every change. */
export async function keep(): Promise<void> {
  await restore().catch(told);
  effect(putAway);
  effect(() => {
    const desk = { intake: bench.intake.value, last: bench.current.value };
    const mine: OfWindow = { job: desk.last, view: bench.view.value, intake: desk.intake };
    try {
      sessionStorage.setItem(WINDOW, JSON.stringify(mine));
      if (desk.last === null) localStorage.removeItem(LAST);
      else localStorage.setItem(LAST, desk.last);
    } catch {
      // Refused; a reload then opens the job last worked on.
    }
    void inTurn(() => shelves.putDesk(desk));
  });
  // A reload does not wait for the shelves.
  addEventListener("pagehide", () => {
    const kept = withComing() ?? onItsWay;
    if (kept !== null) hold(kept);
  });
  others().addEventListener("message", (event) => void heard(event.data).catch(told));
}

/** A job in the address: handing it on, and opening one that came. */
import { effect, signal } from "@preact/signals";
import type { Fit, JobFile } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { assess, begin, stepsOf, troubleOf } from "./answers.ts";
import { job, seed } from "./bench.ts";
import { LARGEST_SEED } from "./exercise.ts";
import { pack, unpack } from "./pack.ts";

const MARK = "#j=";
const EXERCISE = "#e=";

/** What came with the address. */
export interface Arrived {
  readonly job: JobFile;
  readonly note: string | undefined;
  readonly fit: Fit;
  /** The seed, if it is an exercise. */
  readonly seed: number | null;
}

/** What came with the address and waits for an answer: open it, or keep the present one. */
export const arrived = signal<Arrived | null>(null);
/** What is to be said of a linked job that was opened without a question. */
export const openedWith = signal<Arrived | null>(null);
export const linkTrouble = signal<Trouble | null>(null);
/** The link just made, and whether the clipboard took it. */
export const copied = signal<{ readonly url: string; readonly inClipboard: boolean } | null>(null);

/** The job that the address stands for at present. */
let inAddress: JobFile | null = null;

function clearAddress(): void {
  inAddress = null;
  if (location.hash.startsWith(MARK) || location.hash.startsWith(EXERCISE)) {
    history.replaceState(null, "", location.pathname + location.search);
  }
}

/** Opens a job that came with a link; the present one can be had back by undo. */
export async function openLinked(linked: Arrived): Promise<void> {
  const found = await begin(linked.job, linked.seed, linked.fit.unknown_steps.length > 0);
  openedWith.value = found === null && worthSaying(linked) ? linked : null;
  arrived.value = null;
  linkTrouble.value = found;
  if (found === null) clearAddress();
}

export function keepMine(): void {
  arrived.value = null;
  linkTrouble.value = null;
  clearAddress();
}

/** Whether the reader must be told more than that a job came. */
const worthSaying = ({ note, fit }: Arrived): boolean =>
  note !== undefined || fit.same === false || fit.unknown_steps.length > 0;

async function readLink(link: string): Promise<Arrived> {
  const { text, first } = await unpack(link.trim());
  const { job: linked, fingerprint, note } = await engine.call("linked", text, first);
  const here = await engine.call("fingerprint", linked.machine);
  const fits = await engine.call("fit", linked, fingerprint, here);
  // A job that cannot be worked out is not worth the question whether to open it, unless that is
  // because the description has changed.
  if (fits.unknown_steps.length === 0) await assess(linked);
  return { job: linked, note, fit: fits, seed: null };
}

async function readExercise(text: string): Promise<Arrived> {
  const [machine = "", number = ""] = text.split(".");
  const hidden = Number(number);
  if (!Number.isInteger(hidden) || hidden < 1 || hidden > LARGEST_SEED) {
    throw ownTrouble(words.link.noExercise);
  }
  const made = await engine.call("exercise", machine, hidden);
  return { job: made, note: undefined, fit: { fingerprint: "", same: null, unknown_steps: [] }, seed: hidden };
}

/** Reads the address. A broken link is told and changes nothing. */
export async function readAddress(): Promise<void> {
  const mark = [MARK, EXERCISE].find((one) => location.hash.startsWith(one));
  if (mark === undefined) return;
  const text = location.hash.slice(mark.length);
  arrived.value = null;
  openedWith.value = null;
  linkTrouble.value = null;
  try {
    const linked = await (mark === MARK ? readLink(text) : readExercise(text));
    const present = job.value;
    if (linked.seed === null && JSON.stringify(present) === JSON.stringify(linked.job)) {
      inAddress = present;
    } else if (linked.seed !== null && linked.seed === seed.value) {
      clearAddress();
    } else if (stepsOf(present).length > 0) {
      arrived.value = linked;
    } else {
      await openLinked(linked);
    }
  } catch (thrown) {
    linkTrouble.value = troubleOf(thrown);
  }
}

/** The link to the job on the bench, with a note if there is one. */
export async function linkOf(present: JobFile, note?: string): Promise<string> {
  const fingerprint = await engine.call("fingerprint", present.machine);
  const text = await engine.call("link_text", present, fingerprint, note);
  return new URL(MARK + (await pack(text)), location.href).href;
}

/** The link to the exercise on the bench, as it begins. */
export const exerciseLink = (machine: string, number: number): string =>
  new URL(`${EXERCISE}${machine}.${number}`, location.href).href;

const inClipboard = (text: string): Promise<boolean> =>
  navigator.clipboard.writeText(text).then(
    () => true,
    () => false,
  );

/** Puts the job into the address and the clipboard. */
export async function copyLink(note?: string): Promise<Trouble | null> {
  const present = job.value;
  if (present === null) return null;
  try {
    const exercise = seed.value;
    const url = exercise === null ? await linkOf(present, note) : exerciseLink(present.machine, exercise);
    if (exercise === null) {
      inAddress = present;
      history.replaceState(null, "", new URL(url).hash);
    }
    copied.value = { url, inClipboard: await inClipboard(url) };
    return null;
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

/** Watches the address, and takes the link out of it as soon as the job has moved on. */
export function watchAddress(): void {
  addEventListener("hashchange", () => void readAddress());
  effect(() => {
    const present = job.value;
    copied.value = null;
    if (inAddress !== null && present !== inAddress) clearAddress();
  });
}

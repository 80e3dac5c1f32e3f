/** Jobs in the address: makes links and opens links that arrive. */
import { effect } from "@preact/signals";
import type { JobFile } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { stepsOf } from "../job-file.ts";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { words } from "../words.ts";
import { Address, EXERCISE, JOB } from "./address.ts";
import { assess } from "./answers.ts";
import { begin } from "./changes.ts";
import { LARGEST_SEED } from "./exercise.ts";
import { pack, unpack } from "./pack.ts";
import type { LinkedJob } from "./state.ts";
import { dispatch, exercise, job, screen } from "./store.ts";

/** The address of the page; undefined while the build draws the first screen. */
let address: Address | undefined;

/** Opens a job that came with a link; the present one stays on the shelf. */
export async function openLinked(linked: LinkedJob): Promise<void> {
  const found = await begin(linked.job, linked.seed, linked.fit.unknown_steps.length > 0);
  dispatch(
    { type: "notice", notice: "opened", value: found === null && worthSaying(linked) ? linked : null },
    { type: "notice", notice: "arrived", value: null },
    { type: "notice", notice: "link", value: found },
  );
  if (found === null) address?.clearLink();
}

export function keepMine(): void {
  dispatch(
    { type: "notice", notice: "arrived", value: null },
    { type: "notice", notice: "link", value: null },
  );
  address?.clearLink();
}

/** Whether a linked job needs a notice after it was opened. */
const worthSaying = ({ note, fit }: LinkedJob): boolean =>
  note !== undefined || fit.same === false || fit.unknown_steps.length > 0;

async function readLink(link: string): Promise<LinkedJob> {
  const { text, first } = await unpack(link.trim());
  const { job: linked, fingerprint, note } = await engine.call("linked", text, first);
  const here = await engine.call("fingerprint", linked.machine);
  const fits = await engine.call("fit", linked, fingerprint, here);
  // A job that cannot be assessed is refused here, unless the reason is that the description
  // has changed.
  if (fits.unknown_steps.length === 0) await assess(linked);
  return { job: linked, note, fit: fits, seed: null };
}

async function readExercise(text: string): Promise<LinkedJob> {
  const [machine = "", number = ""] = text.split(".");
  const hidden = Number(number);
  if (!Number.isInteger(hidden) || hidden < 1 || hidden > LARGEST_SEED) {
    throw ownTrouble(words.link.noExercise);
  }
  const made = await engine.call("exercise", machine, hidden);
  return {
    job: made,
    note: undefined,
    fit: { fingerprint: "", same: null, unknown_steps: [] },
    seed: hidden,
  };
}

/** Reads the address. A broken link gives a notice and changes nothing. */
export async function readAddress(): Promise<void> {
  const link = address?.link() ?? null;
  if (link === null) return;
  dispatch(
    { type: "notice", notice: "arrived", value: null },
    { type: "notice", notice: "opened", value: null },
    { type: "notice", notice: "link", value: null },
  );
  try {
    await receive(await (link.kind === JOB ? readLink(link.text) : readExercise(link.text)));
  } catch (thrown) {
    dispatch({ type: "notice", notice: "link", value: troubleOf(thrown) });
  }
}

/** Opens a linked job if no work is on the bench; otherwise the reader decides. */
async function receive(linked: LinkedJob): Promise<void> {
  const present = job.peek();
  const { seed } = linked;
  if (seed === null && present !== null && JSON.stringify(present) === JSON.stringify(linked.job)) {
    address?.standFor(present);
  } else if (seed !== null && seed === exercise.peek()?.seed) {
    address?.clearLink();
  } else if (stepsOf(present).length > 0) {
    dispatch({ type: "notice", notice: "arrived", value: linked });
  } else {
    await openLinked(linked);
  }
}

/** The link to the job on the bench, with a note if there is one. */
export async function linkOf(present: JobFile, note?: string): Promise<string> {
  const fingerprint = await engine.call("fingerprint", present.machine);
  const text = await engine.call("link_text", present, fingerprint, note);
  return new URL(JOB + (await pack(text)), location.href).href;
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
  const present = job.peek();
  if (present === null) return null;
  const seed = exercise.peek()?.seed;
  try {
    const url = seed === undefined ? await linkOf(present, note) : exerciseLink(present.machine, seed);
    if (seed === undefined) address?.standFor(present, new URL(url).hash);
    dispatch({ type: "copied", link: { of: present, url, inClipboard: await inClipboard(url) } });
    return null;
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

/** Starts to add an entry to the browser's history for every screen that is shown. */
export function followScreens(): void {
  const entries = (address ??= new Address(window));
  effect(() => entries.show(screen.value));
  addEventListener("popstate", (event) => {
    const to = entries.travelled(event.state, job.peek());
    if (to !== null) dispatch({ type: "show", screen: to });
  });
}

/** Starts to read links in the address, and to remove them once the job differs from the linked one. */
export function watchAddress(): void {
  addEventListener("hashchange", () => {
    if (address?.takeNewLink()) void readAddress();
  });
  effect(() => {
    const present = job.value;
    address?.movedTo(present);
  });
}

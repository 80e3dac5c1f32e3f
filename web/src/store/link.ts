/** A job in the address: handing it on, and opening one that came. */
import { effect, signal } from "@preact/signals";
import type { JobFile } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import type { Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { assess, describedOf, replace, stepsOf, troubleOf } from "./answers.ts";
import { job } from "./bench.ts";

const MARK = "#j=";

/** A job that came with the address and waits for an answer: open it, or keep the present one. */
export const arrived = signal<JobFile | null>(null);
export const linkTrouble = signal<Trouble | null>(null);
/** The link just made, and whether the clipboard took it. */
export const copied = signal<{ readonly url: string; readonly inClipboard: boolean } | null>(null);

/** The job that the address stands for at present. */
let inAddress: JobFile | null = null;

function clearAddress(): void {
  inAddress = null;
  if (location.hash.startsWith(MARK)) {
    history.replaceState(null, "", location.pathname + location.search);
  }
}

/** Opens a job that came with a link; the present one can be had back by undo. */
export async function openLinked(linked: JobFile): Promise<void> {
  const found = await replace(linked, words.changes.opened);
  arrived.value = null;
  linkTrouble.value = found;
  if (found === null) clearAddress();
}

export function keepMine(): void {
  arrived.value = null;
  linkTrouble.value = null;
  clearAddress();
}

/** Reads the address. A broken link is told and changes nothing. */
export async function readAddress(): Promise<void> {
  if (!location.hash.startsWith(MARK)) return;
  const text = location.hash.slice(MARK.length);
  arrived.value = null;
  linkTrouble.value = null;
  try {
    const { job: linked } = await engine.call("decode_link", text);
    // A job that cannot be worked out is not worth the question whether to open it.
    await assess(linked);
    const present = job.value;
    if (JSON.stringify(present) === JSON.stringify(linked)) {
      inAddress = present;
    } else if (stepsOf(present).length > 0) {
      arrived.value = linked;
    } else {
      await openLinked(linked);
    }
  } catch (thrown) {
    linkTrouble.value = troubleOf(thrown);
  }
}

/** Puts the job into the address and the clipboard. */
export async function copyLink(): Promise<Trouble | null> {
  const present = job.value;
  if (present === null) return null;
  try {
    const { fingerprint } = await describedOf(present.machine);
    const text = await engine.call("encode_link", present, fingerprint, undefined);
    inAddress = present;
    history.replaceState(null, "", MARK + text);
    const inClipboard = await navigator.clipboard.writeText(location.href).then(
      () => true,
      () => false,
    );
    copied.value = { url: location.href, inClipboard };
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

/** Keeps everything entered in the browser, so that a reload loses nothing. */
import { effect, signal } from "@preact/signals";
import { words } from "../words.ts";
import { troubleOf } from "./answers.ts";
import * as bench from "./bench.ts";
import {
  isDraft,
  isIntake,
  isJob,
  isMarks,
  isRecord,
  isStep,
  isView,
  type Shape,
} from "./shapes.ts";

const KEY = "halfsplit/bench/1";
const ASIDE = "halfsplit/unreadable";

/** What went wrong with keeping, in words. */
export const keepingTrouble = signal<string | null>(null);

/** What is kept, and the shape it must have to be taken back. */
const kept: Record<string, { readonly source: { value: unknown }; readonly shape: Shape }> = {
  job: { source: bench.job, shape: isJob },
  past: { source: bench.past, shape: isMarks },
  future: { source: bench.future, shape: isMarks },
  chosen: { source: bench.chosen, shape: isStep },
  draft: { source: bench.draft, shape: isDraft },
  intake: { source: bench.intake, shape: isIntake },
  view: { source: bench.view, shape: isView },
};

/** Moves what cannot be read out of the way without deleting it. */
function putAside(text: string, why: string): void {
  try {
    localStorage.setItem(ASIDE, text);
  } catch {
    // Full or refused; the message says what matters.
  }
  keepingTrouble.value = words.trouble.storedBroken(why);
}

/** Puts back what was kept. Half-entered things that do not fit are dropped, a job never. */
function restore(): void {
  let text: string | null = null;
  try {
    text = localStorage.getItem(KEY);
    if (text === null) return;
    const stored: unknown = JSON.parse(text);
    if (!isRecord(stored) || !isJob(stored["job"])) throw new Error(words.trouble.notAJob);
    for (const [name, { source, shape }] of Object.entries(kept)) {
      if (shape(stored[name])) source.value = stored[name];
    }
  } catch (thrown) {
    const { message } = troubleOf(thrown);
    if (text === null) keepingTrouble.value = words.trouble.notKept(message);
    else putAside(text, message);
  }
  if (bench.job.value === null) bench.view.value = "intake";
}

/** Restores, and from then on keeps every change. */
export function keep(): void {
  restore();
  effect(() => {
    const values = Object.entries(kept).map(([name, { source }]) => [name, source.value]);
    try {
      localStorage.setItem(KEY, JSON.stringify(Object.fromEntries(values)));
    } catch (thrown) {
      keepingTrouble.value = words.trouble.notKept(troubleOf(thrown).message);
    }
  });
}

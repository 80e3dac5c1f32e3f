/**
 * The job that was on its way to the shelves when the page was left. Putting something there takes a
 * moment, and a reload in that moment would lose it.
 */
import { isKeptJob, keptJobFrom, type KeptJob } from "./kept-job.ts";
import { jobOf, putJob } from "./shelf.ts";

const KEY = "halfsplit/in-hand";

/** Holds a job over a reload. */
export function hold(kept: KeptJob): void {
  try {
    sessionStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // Refused or full: it is on its way to the shelves all the same.
  }
}

function held(): KeptJob | undefined {
  try {
    const value: unknown = JSON.parse(sessionStorage.getItem(KEY) ?? "");
    return keptJobFrom(value);
  } catch {
    return undefined;
  }
}

/** Lets go of a job that is on the shelves now, unless it was changed again in the meantime. */
export function letGo(kept: KeptJob): void {
  const now = held();
  if (now?.id === kept.id && now.revision === kept.revision) sessionStorage.removeItem(KEY);
}

/** Puts on the shelves what a reload left in the hand. */
export async function putDown(): Promise<void> {
  const mine = held();
  if (mine === undefined) return;
  const there = await jobOf(mine.id);
  const same = isKeptJob(there) && there.revision === mine.revision && there.changed === mine.changed;
  // Another window may have been faster: its job stays, and this one becomes a second.
  if (!same && !(await putJob(mine))) await putJob({ ...mine, id: crypto.randomUUID(), revision: 1 });
  letGo(mine);
}

/**
 * Keeps a job over a reload while it is not yet in the database. Writing there takes a moment, and a reload
 * in that moment would lose the job.
 */
import { isKeptJob, keptJobFrom, type KeptJob } from "./kept-job.ts";
import { jobOf, putJob } from "./shelf.ts";

const KEY = "halfsplit/in-hand";

/** Stores a job for the time of a reload. */
export function hold(kept: KeptJob): void {
  try {
    sessionStorage.setItem(KEY, JSON.stringify(kept));
  } catch {
    // Refused or full: the job is being written to the database anyway.
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

/** Removes a job that is in the database now, unless it has changed again in the meantime. */
export function letGo(kept: KeptJob): void {
  const now = held();
  if (now?.id === kept.id && now.revision === kept.revision) sessionStorage.removeItem(KEY);
}

/** Writes the job that survived a reload to the database. */
export async function putDown(): Promise<void> {
  const mine = held();
  if (mine === undefined) return;
  const there = await jobOf(mine.id);
  const same = isKeptJob(there) && there.revision === mine.revision && there.changed === mine.changed;
  // If another window has written a newer version, that one stays and this one becomes a second job.
  if (!same && !(await putJob(mine))) await putJob({ ...mine, id: crypto.randomUUID(), revision: 1 });
  letGo(mine);
}

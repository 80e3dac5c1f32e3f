/** The jobs kept in this browser. */
import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { JobFile } from "../engine/halfsplit_wasm.js";
import type { StepKey } from "../catalogue.ts";
import type { IntakeDraft, Mark, StepDraft } from "./bench.ts";
import { isDraft, isJobFile, isMarks, isRecord, isStep } from "./shapes.ts";

/** A job with everything that belongs to it. */
export interface KeptJob {
  readonly id: string;
  /** Counts the times it was put away; the highest is the newest. */
  readonly revision: number;
  /** When, in milliseconds since 1970. */
  readonly changed: number;
  readonly job: JobFile;
  readonly past: readonly Mark[];
  readonly future: readonly Mark[];
  readonly chosen: StepKey | null;
  readonly draft: StepDraft;
  /** The seed of the hidden fault, if the job is an exercise. */
  readonly seed: number | null;
}

/** What belongs to no job. */
export interface Desk {
  readonly intake: IntakeDraft;
  /** The job last worked on. */
  readonly last: string | null;
}

interface Shelves extends DBSchema {
  jobs: { key: string; value: KeptJob };
  desk: { key: "desk"; value: Desk };
}

const NAME = "halfsplit";
let opened: Promise<IDBPDatabase<Shelves>> | undefined;

function shelves(): Promise<IDBPDatabase<Shelves>> {
  opened ??= openDB<Shelves>(NAME, 1, {
    upgrade(db) {
      db.createObjectStore("jobs", { keyPath: "id" });
      db.createObjectStore("desk");
    },
    blocking(_current, _wanted, event) {
      // A newer page in another window waits to change the shelves: it goes first, and this one
      // opens them anew when it next needs them.
      (event.target as IDBDatabase).close();
      opened = undefined;
    },
    terminated() {
      opened = undefined;
    },
  });
  opened.catch(() => (opened = undefined));
  return opened;
}

/** Whether something read back is a job that can be taken out; ids are for the engine to judge. */
export const isKeptJob = (value: unknown): value is KeptJob =>
  isRecord(value) &&
  typeof value["id"] === "string" &&
  typeof value["revision"] === "number" &&
  typeof value["changed"] === "number" &&
  isJobFile(value["job"]) &&
  isMarks(value["past"]) &&
  isMarks(value["future"]) &&
  isStep(value["chosen"]) &&
  isDraft(value["draft"]);

export async function allJobs(): Promise<readonly unknown[]> {
  return (await shelves()).getAll("jobs");
}

export async function jobOf(id: string): Promise<unknown> {
  return (await shelves()).get("jobs", id);
}

/**
 * Puts a job away. If somebody else has put away a newer one in the meantime that one stays, and
 * the answer is no.
 */
export async function putJob(kept: KeptJob): Promise<boolean> {
  const transaction = (await shelves()).transaction("jobs", "readwrite", { durability: "strict" });
  const there = await transaction.store.get(kept.id);
  const newest = there === undefined || there.revision < kept.revision;
  if (newest) await transaction.store.put(kept);
  await transaction.done;
  return newest;
}

export async function dropJob(id: string): Promise<void> {
  await (await shelves()).delete("jobs", id);
}

export async function deskOf(): Promise<Desk | undefined> {
  return (await shelves()).get("desk", "desk");
}

export async function putDesk(desk: Desk): Promise<void> {
  await (await shelves()).put("desk", desk, "desk");
}

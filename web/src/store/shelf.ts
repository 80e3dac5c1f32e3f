/** The jobs kept in this browser. */
import { openDB, type DBSchema, type IDBPDatabase } from "idb";
import type { Desk, KeptJob } from "./kept-job.ts";

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
      // A newer page in another window waits to upgrade the database. This page closes its connection
      // and reopens it when needed.
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

export async function allJobs(): Promise<readonly unknown[]> {
  return (await shelves()).getAll("jobs");
}

export async function jobOf(id: string): Promise<unknown> {
  return (await shelves()).get("jobs", id);
}

/**
 * Stores a job and returns true. If another window has stored a newer version in the meantime, that one
 * stays and the result is false.
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

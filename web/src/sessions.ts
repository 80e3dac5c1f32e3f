/** A cache of the engine's sessions by the text of their job, so that their work continues. */
import type { JobFile } from "./engine/halfsplit_wasm.js";
import { isTrouble } from "./trouble.ts";

/** An object in the memory of the engine; the browser does not free it by itself. */
interface Session {
  free(): void;
}

/** Keeps the sessions that were used last, and frees the others. */
export class SessionCache<S extends Session> {
  readonly #begin: (job: JobFile) => S;
  readonly #capacity: number;
  /** The sessions by the text of the job, the most recently used last. */
  readonly #sessions = new Map<string, S>();

  constructor(capacity: number, begin: (job: JobFile) => S) {
    this.#capacity = capacity;
    this.#begin = begin;
  }

  /** Asks the session of a job, which begins if it is not in the cache. A session that fails is dropped. */
  ask<T>(job: JobFile, question: (session: S) => T): T {
    const key = JSON.stringify(job);
    const session = this.#sessions.get(key) ?? this.#begin(job);
    this.#sessions.delete(key);
    const answer = asked(session, question);
    this.#sessions.set(key, session);
    this.#freeOldest();
    return answer;
  }

  #freeOldest(): void {
    for (const [key, session] of this.#sessions) {
      if (this.#sessions.size <= this.#capacity) return;
      this.#sessions.delete(key);
      session.free();
    }
  }
}

/** Asks a session. After an error of the job the session is freed; after a fault its memory is left alone. */
function asked<S extends Session, T>(session: S, question: (session: S) => T): T {
  try {
    return question(session);
  } catch (thrown) {
    if (isTrouble(thrown)) session.free();
    throw thrown;
  }
}

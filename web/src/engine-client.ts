/**
 * The client of the workers on the page: one promise per call. A worker that breaks or does not answer is
 * replaced. Its open calls are rejected, and an answer without an open call is dropped.
 */
import type { JobFile } from "./engine/halfsplit_wasm.js";
import type { Language } from "./language.ts";
import { isStudy, type Answer, type Arguments, type Call, type Request, type Value } from "./protocol.ts";
import { isJobFile } from "./shapes.ts";
import type { Trouble } from "./trouble.ts";
import { words } from "./words.ts";

/** Far longer than any answer takes, the download of the engine included. */
const PATIENCE_MS = 60_000;

interface Waiting {
  readonly args: readonly unknown[];
  readonly resolve: (value: Value<Call>) => void;
  readonly reject: (trouble: Trouble) => void;
  readonly timer: number;
}

class Client {
  /** Makes a worker that answers in a language. */
  readonly #make: (language: Language) => Worker;
  #worker: Worker | undefined;
  #lastId = 0;
  readonly #waiting = new Map<number, Waiting>();
  #language: Language = "en";

  constructor(make: (language: Language) => Worker) {
    this.#make = make;
  }

  /** Switches the texts of the engine and of the machines to a language. */
  speak(language: Language): void {
    if (language === this.#language) return;
    this.#language = language;
    if (this.#worker) this.#restart(words.trouble.language);
  }

  /** Starts the download of the engine before the first call does. */
  warmUp(): void {
    this.#worker ??= this.#start();
  }

  /** Calls the engine. Rejects with a `Trouble`, never with anything else. */
  call<C extends Call>(call: C, ...args: Arguments<C>): Promise<Value<C>> {
    const worker = (this.#worker ??= this.#start());
    const id = ++this.#lastId;
    return new Promise<Value<C>>((resolve, reject) => {
      const timer = window.setTimeout(() => this.#restart(words.trouble.silent), PATIENCE_MS);
      this.#waiting.set(id, { args, resolve: resolve as Waiting["resolve"], reject, timer });
      const request: Request<C> = { id, call, args };
      worker.postMessage(request);
    });
  }

  #start(): Worker {
    const worker = this.#make(this.#language);
    worker.addEventListener("message", (event: MessageEvent<Answer>) => {
      if (worker === this.#worker) this.#take(event.data);
    });
    worker.addEventListener("error", (event) => {
      event.preventDefault();
      if (worker === this.#worker) this.#restart(event.message || words.trouble.notLoaded);
    });
    return worker;
  }

  #take(answer: Answer): void {
    if ("fault" in answer) {
      this.#restart(answer.fault);
      return;
    }
    const waiting = this.#waiting.get(answer.id);
    if (waiting === undefined) return;
    this.#waiting.delete(answer.id);
    window.clearTimeout(waiting.timer);
    if ("trouble" in answer) waiting.reject({ ...answer.trouble, ...about(waiting.args) });
    else waiting.resolve(answer.value);
  }

  /** Ends the worker and rejects its open calls; the next call starts a new worker. */
  #restart(why: string): void {
    this.#worker?.terminate();
    this.#worker = undefined;
    const waiting = [...this.#waiting.values()];
    this.#waiting.clear();
    for (const one of waiting) {
      window.clearTimeout(one.timer);
      one.reject({ kind: "crash", message: words.trouble.crash(why) });
    }
  }
}

/** The job that a call is about, so that messages can name its steps. */
function about([first]: readonly unknown[]): { about?: JobFile } {
  return isJobFile(first) ? { about: first as JobFile } : {};
}

const bench = new Client(
  (name) => new Worker(new URL("./worker.ts", import.meta.url), { type: "module", name }),
);
const study = new Client(
  (name) => new Worker(new URL("./study-worker.ts", import.meta.url), { type: "module", name }),
);

/** The engine of this page. Each of its workers starts at its first call. */
export const engine = {
  speak(language: Language): void {
    bench.speak(language);
    study.speak(language);
  },
  warmUp: (): void => bench.warmUp(),
  call: <C extends Call>(call: C, ...args: Arguments<C>): Promise<Value<C>> =>
    (isStudy(call) ? study : bench).call(call, ...args),
};

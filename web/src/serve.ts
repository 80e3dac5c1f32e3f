/**
 * Runs the engine in a worker, so that the page never blocks. The engine gets the machine of a question
 * before the question itself. The name of the worker is the language of the page.
 */
import { isLanguage } from "./language.ts";
import { descriptionOf } from "./machine-files.ts";
import type { Answer, Call, Request } from "./protocol.ts";
import { isTrouble } from "./trouble.ts";

/** The functions that both modules of the engine have. */
interface Engine {
  readonly default: () => Promise<unknown>;
  readonly load_machine: (text: string) => void;
}

type Answering = (...args: never[]) => unknown;

export const language = isLanguage(self.name) ? self.name : "en";

const texts = new Map<string, Promise<string | undefined>>();

/** The text of a machine's description; undefined if there is no such machine. */
export function textOf(id: string): Promise<string | undefined> {
  const found = texts.get(id) ?? descriptionOf(id, language);
  texts.set(id, found);
  // A failed fetch is forgotten, so that the next call tries again.
  found.catch(() => texts.delete(id));
  return found;
}

/** The machine that a call is about. */
function machineIn([first]: readonly unknown[], call: Call): string | undefined {
  if (call === "exercise" || call === "play") return String(first);
  const named = typeof first === "object" && first !== null && "machine" in first;
  return named ? String(first.machine) : undefined;
}

/**
 * Answers the calls of the page. `own` are functions of the worker, which load machine and engine
 * themselves.
 */
export function serve<C extends Call>(
  engine: Engine,
  calls: { readonly [K in C]?: Answering },
  own: { readonly [K in C]?: Answering } = {},
): { readonly ready: () => Promise<unknown> } {
  let starting: Promise<unknown> | undefined;
  const loaded = new Set<string>();

  /** Starts the engine at its first use. */
  const ready = (): Promise<unknown> => {
    starting ??= engine.default();
    // Each call reports a failed start. This handler covers a failure before the first call waits for it.
    starting.catch(() => undefined);
    return starting;
  };

  async function value({ call, args }: Request<C>): Promise<unknown> {
    const mine = own[call];
    if (mine) return mine(...(args as readonly unknown[] as never[]));
    const id = machineIn(args, call);
    void ready();
    const found = id === undefined ? undefined : await textOf(id);
    await ready();
    if (id !== undefined && found !== undefined && !loaded.has(id)) {
      engine.load_machine(found);
      loaded.add(id);
    }
    return calls[call]?.(...(args as readonly unknown[] as never[]));
  }

  async function answer(request: Request<C>): Promise<Answer> {
    const { id } = request;
    try {
      return { id, value: (await value(request)) as never };
    } catch (thrown) {
      if (isTrouble(thrown)) return { id, trouble: thrown };
      // A trap leaves the engine's memory in an unknown state: the page starts a new worker.
      return { id, fault: thrown instanceof Error ? thrown.message : String(thrown) };
    }
  }

  self.addEventListener("message", (event: MessageEvent<Request<C>>) => {
    void answer(event.data).then((reply) => self.postMessage(reply));
  });
  return { ready };
}

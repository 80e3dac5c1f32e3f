/**
 * The engine in a thread of its own, so that the page never stands still. It is given the machine
 * that a question is about before the question; its name is the language of the page.
 */
import { isLanguage } from "./language.ts";
import { descriptionOf } from "./machine-files.ts";
import type { Answer, Call, Request } from "./protocol.ts";
import { isTrouble } from "./trouble.ts";

/** What both modules of the engine have. */
interface Engine {
  readonly default: () => Promise<unknown>;
  readonly load_machine: (text: string) => void;
}

type Answering = (...args: never[]) => unknown;

export const language = isLanguage(self.name) ? self.name : "en";

const texts = new Map<string, Promise<string | undefined>>();

/** The text of a machine's description; none if there is no such machine. */
export function textOf(id: string): Promise<string | undefined> {
  const found = texts.get(id) ?? descriptionOf(id, language);
  texts.set(id, found);
  // A fetch that failed is tried again.
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
 * Answers the calls of the page. `own` are functions of the worker: they see to machine and engine
 * themselves.
 */
export function serve<C extends Call>(
  engine: Engine,
  calls: { readonly [K in C]?: Answering },
  own: { readonly [K in C]?: Answering } = {},
): { readonly ready: () => Promise<unknown> } {
  let starting: Promise<unknown> | undefined;
  const loaded = new Set<string>();

  /** The engine, from its first use on. */
  const ready = (): Promise<unknown> => {
    starting ??= engine.default();
    // Every answer tells of it; it may fail before the first one is asked for.
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

/**
 * The engine in a thread of its own, so that the page never stands still. It is given the machine
 * that a question is about before the question; its name is the language of the page.
 */
import * as engine from "./engine/halfsplit_wasm.js";
import { isLanguage } from "./language.ts";
import { descriptionOf } from "./machine-files.ts";
import type { MachineFile } from "./engine/halfsplit_wasm.js";
import type { Answer, Api, Call, Request } from "./protocol.ts";
import { isTrouble } from "./trouble.ts";

const language = isLanguage(self.name) ? self.name : "en";

let starting: Promise<unknown> | undefined;

/** The engine, from its first use on. */
function ready(): Promise<unknown> {
  starting ??= engine.default();
  // Every answer tells of it; it may fail before the first one is asked for.
  starting.catch(() => undefined);
  return starting;
}

const texts = new Map<string, Promise<string | undefined>>();
const loaded = new Set<string>();

function known(id: string): Promise<string | undefined> {
  const found = texts.get(id) ?? descriptionOf(id, language);
  texts.set(id, found);
  // A fetch that failed is tried again.
  found.catch(() => texts.delete(id));
  return found;
}

async function whole(id: string): Promise<string> {
  const found = await known(id);
  if (found !== undefined) return found;
  // The engine knows how to say that there is no such machine.
  await ready();
  engine.fit({ machine: id, steps: [] }, undefined, "");
  throw new Error(id);
}

/** There is no need to wait for the engine: it comes down the line after what is wanted first. */
async function describe(id: string): Promise<MachineFile> {
  const text = await whole(id);
  void ready();
  return JSON.parse(text);
}

async function fingerprint(id: string): Promise<string> {
  const text = await whole(id);
  await ready();
  return engine.fingerprint(text);
}

/** The machine that a call is about. */
function machineIn([first]: readonly unknown[], call: Call): string | undefined {
  if (call === "exercise" || call === "play") return String(first);
  const named = typeof first === "object" && first !== null && "machine" in first;
  return named ? String(first.machine) : undefined;
}

const { assess, sheet, paste, course, arithmetic, graph, exercise, take, reveal, play } = engine;
const { demo_job, link_text, linked, fit, parse_job } = engine;
const calls: Omit<Api, "describe" | "fingerprint"> = {
  assess,
  sheet,
  paste,
  course,
  arithmetic,
  graph,
  exercise,
  take,
  reveal,
  play,
  demo_job,
  link_text,
  linked,
  fit,
  parse_job,
};

async function value({ call, args }: Request): Promise<unknown> {
  if (call === "describe") return describe(String(args[0]));
  if (call === "fingerprint") return fingerprint(String(args[0]));
  const id = machineIn(args, call);
  void ready();
  const found = id === undefined ? undefined : await known(id);
  await ready();
  if (id !== undefined && found !== undefined && !loaded.has(id)) {
    engine.load_machine(found);
    loaded.add(id);
  }
  return (calls[call] as (...args: readonly unknown[]) => unknown)(...args);
}

async function answer(request: Request): Promise<Answer> {
  const { id } = request;
  try {
    return { id, value: (await value(request)) as never };
  } catch (thrown) {
    if (isTrouble(thrown)) return { id, trouble: thrown };
    // A trap leaves the engine's memory in an unknown state: the page starts a new worker.
    return { id, fault: thrown instanceof Error ? thrown.message : String(thrown) };
  }
}

self.addEventListener("message", (event: MessageEvent<Request>) => {
  void answer(event.data).then((reply) => self.postMessage(reply));
});

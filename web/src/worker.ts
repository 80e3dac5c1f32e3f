/** The engine in a thread of its own, so that the page never stands still. */
import init, {
  assess,
  decode_link,
  demo_job,
  encode_link,
  machine,
  machines,
} from "./engine/halfsplit_wasm.js";
import type { Answer, Api, Request } from "./protocol.ts";
import { isEngineTrouble } from "./trouble.ts";

const api: Api = { machines, machine, assess, demo_job, encode_link, decode_link };
const ready = init();
// Every answer tells of it; it may fail before the first one is asked for.
ready.catch(() => undefined);

async function answer({ id, call, args }: Request): Promise<Answer> {
  try {
    await ready;
    const run = api[call] as (...args: Request["args"]) => ReturnType<Api[typeof call]>;
    return { id, value: run(...args) };
  } catch (thrown) {
    if (isEngineTrouble(thrown)) {
      return { id, trouble: { kind: thrown.kind, message: thrown.message } };
    }
    // A trap leaves the engine's memory in an unknown state: the page starts a new worker.
    return { id, fault: thrown instanceof Error ? thrown.message : String(thrown) };
  }
}

self.addEventListener("message", (event: MessageEvent<Request>) => {
  void answer(event.data).then((reply) => self.postMessage(reply));
});

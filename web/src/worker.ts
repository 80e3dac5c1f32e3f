/** The worker that answers the first screen and the bench. */
import { simd } from "wasm-feature-detect";
import * as engine from "./engine/halfsplit_wasm.js";
import type { Assessment, JobFile, LookaheadProgress, MachineFile } from "./engine/halfsplit_wasm.js";
import { serve, textOf } from "./serve.ts";
import { SessionCache } from "./sessions.ts";

/** How many sessions are kept: the job on the bench and the prefetched results of its next step. */
const SESSIONS = 12;

async function whole(id: string): Promise<string> {
  const found = await textOf(id);
  if (found !== undefined) return found;
  // The engine throws the error about the unknown machine.
  await ready();
  engine.fit({ machine: id, steps: [] }, undefined, "");
  throw new Error(id);
}

/** Returns the description without waiting for the engine, whose download starts after it. */
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

/** Starts the engine, with SIMD instructions where the browser has them. */
async function start(): Promise<unknown> {
  const twoAtOnce = new URL("./engine/halfsplit_wasm_simd.wasm", import.meta.url);
  return (await simd()) ? engine.default({ module_or_path: twoAtOnce }) : engine.default();
}

const sessions = new SessionCache(SESSIONS, (job) => new engine.AdviceSession(job));

/** The best assessment of a job so far. */
const advise = (job: JobFile): Assessment => sessions.ask(job, (session) => session.assessment());

/** Does one more piece of the lookahead on a job. */
const look_ahead = (job: JobFile): LookaheadProgress => sessions.ask(job, (session) => session.step());

const { link_text, linked, fit, parse_job } = engine;
const { ready } = serve(
  { default: start, load_machine: engine.load_machine },
  { advise, look_ahead, link_text, linked, fit, parse_job },
  { describe, fingerprint },
);

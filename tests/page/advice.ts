// What the engine advises, asked in Node: the steps that the page must show.

import { readFileSync } from 'node:fs';

interface Step {
  kind: string;
  id: string;
  name: string;
}

interface Job {
  machine: string;
  steps: readonly unknown[];
}

const at = (path: string) => new URL(`../../${path}`, import.meta.url);

const engine = await import(at('web/src/engine/halfsplit_wasm.js').href);
engine.initSync({ module: readFileSync(at('web/src/engine/halfsplit_wasm_bg.wasm')) });
engine.load_machine(readFileSync(at('web/src/engine/machines/mower-recoil.json'), 'utf8'));

interface Answer {
  next: Step;
  ranking: Step[];
  set_aside: Step[];
}

/** The answer about a job at first, and after the whole lookahead. */
export function answers(job: Job): { first: Answer; last: Answer } {
  const session = new engine.AdviceSession(job);
  const first: Answer = session.assessment();
  for (let looked = { done: 0, of: 1 }; looked.done < looked.of;) looked = session.step();
  const last: Answer = session.assessment();
  session.free();
  return { first, last };
}

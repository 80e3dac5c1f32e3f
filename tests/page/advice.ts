// What the engine advises, asked in Node: the steps that the page must show.

import { readdirSync, readFileSync } from 'node:fs';

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
const WORKED = at('core/examples/jobs/worked/');

const engine = await import(at('web/src/engine/halfsplit_wasm.js').href);
engine.initSync({ module: readFileSync(at('web/src/engine/halfsplit_wasm_bg.wasm')) });
for (const file of readdirSync(WORKED)) {
  engine.load_machine(readFileSync(at(`web/src/engine/machines/${file}`), 'utf8'));
}

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

/** A worked job, up to some step, whose lookahead leads from a check to another step. */
export function changing(): { job: Job; first: Step; last: Step } {
  for (const file of readdirSync(WORKED)) {
    const worked: { job: Job }[] = JSON.parse(readFileSync(new URL(file, WORKED), 'utf8'));
    for (const { job } of worked) {
      for (let count = 1; count <= job.steps.length; count += 1) {
        const part = { ...job, steps: job.steps.slice(0, count) };
        const answered = answers(part);
        const [first, last] = [answered.first.next, answered.last.next];
        if (first?.kind === 'check' && last.id !== first.id) return { job: part, first, last };
      }
    }
  }
  throw new Error('the lookahead changes the advice on no worked job');
}

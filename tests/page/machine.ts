// The description of the mower: the texts that the page must show word for word.

import { readFileSync } from 'node:fs';

interface Named {
  id: string;
  name: string;
}

interface Step extends Named {
  how: string;
  minutes: number;
  tools?: string[];
  setups?: string[];
  cautions?: string[];
}

interface Machine extends Named {
  tools: (Named & { common: boolean })[];
  cautions: { id: string; text: string; stop?: string }[];
  setups: (Named & { cautions?: string[] })[];
  checks: Step[];
  bypasses: Step[];
  repairs: Step[];
  attempt: Step;
}

const file = new URL('../../web/src/engine/machines/mower-recoil.json', import.meta.url);

export const mower: Machine = JSON.parse(readFileSync(file, 'utf8'));

/** All steps of the mower that have a name. */
export const steps: Step[] = [...mower.checks, ...mower.bypasses, ...mower.repairs];

export function stepOf(id: string): Step {
  const step = id === 'attempt' ? mower.attempt : steps.find((one) => one.id === id);
  if (step === undefined) throw new Error(`the machine has no step "${id}"`);
  return step;
}

/** The warnings of a step, those of its set-up included, each with the rule when to stop. */
export function cautionsOf({ setups = [], cautions = [] }: Step): string[] {
  const opening = mower.setups.filter(({ id }) => setups.includes(id));
  const ids = new Set([...opening.flatMap((one) => one.cautions ?? []), ...cautions]);
  return mower.cautions
    .filter(({ id }) => ids.has(id))
    .map(({ text, stop }) => [text, stop].filter(Boolean).join(' '));
}

/** Which step is in view: the one the user chose, or else the advised one. */
import { ATTEMPT, keyOf, sameStep, stepCard, type StepCard, type StepKey } from "../catalogue.ts";
import type { Assessment, MachineFile, StepAdvice } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../store/answers.ts";
import { chosen, job, seed } from "../store/bench.ts";
import { adviceShown } from "../store/exercise.ts";
import { adviceName, leftOutText, obstacleText, remarkText, whyText } from "../engine-words.ts";
import { words } from "../words.ts";

export interface CurrentStep {
  readonly key: StepKey;
  readonly advised: StepAdvice | undefined;
  /** None where the step stands outside the advice. */
  readonly advice: StepAdvice | undefined;
  /** None for handing over. */
  readonly card: StepCard | undefined;
  readonly why: string;
  /** What the odds and the prices come to; only with the advised step. */
  readonly remarks: readonly string[];
}

/** The step in view, if there is an answer to take it from. */
export const stepOnBench = (
  machine: MachineFile | null,
  answer: Assessment | null,
): CurrentStep | undefined => (machine && answer ? currentStep(machine, answer) : undefined);

/** What a step is called. */
export const nameOf = ({ card, advice }: CurrentStep): string => card?.name ?? (advice ? adviceName(advice) : "");

/** The step in view; none when the engine runs and nothing was chosen. */
export function currentStep(machine: MachineFile, answer: Assessment): CurrentStep | undefined {
  const advised = answer.next ?? undefined;
  const key = keyInView(machine, answer) ?? advised;
  if (key === undefined) return undefined;
  const advice = answer.ranking.find((step) => sameStep(step, key));
  return {
    key,
    advised,
    advice,
    card: stepCard(machine, key),
    why: whyOf(key, advice, answer),
    remarks: [
      ...(advised && sameStep(advised, key) ? answer.remarks.flatMap(remarkText) : []),
      ...leftOutText(answer),
    ],
  };
}

/** What the user chose; or, straight after a repair, the try that shows whether it took, unless the next repair
 * had better come first. */
function keyInView(machine: MachineFile, answer: Assessment): StepKey | undefined {
  const wanted = chosen.value;
  // Nobody is led in an exercise, unless he asks.
  if (seed.value !== null && !adviceShown.value && !wanted) return ATTEMPT;
  if (wanted) return wanted.kind === "hand-over" || stepCard(machine, wanted) ? wanted : undefined;
  const canTry = answer.ranking.some((step) => sameStep(step, ATTEMPT));
  return afterRepair() && canTry && answer.next?.kind !== "repair" ? ATTEMPT : undefined;
}

function afterRepair(): boolean {
  const last = stepsOf(job.value).at(-1);
  return last !== undefined && keyOf(last).kind === "repair";
}

function whyOf(key: StepKey, advice: StepAdvice | undefined, answer: Assessment): string {
  if (afterRepair() && sameStep(key, ATTEMPT)) return words.step.afterRepair;
  if (advice) return whyText(advice);
  const not = answer.not_now.find((step) => sameStep(step, key));
  return not ? words.step.notAdvised(obstacleText(not)) : "";
}

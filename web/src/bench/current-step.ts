/** The step in view, with all the text about it. */
import { computed } from "@preact/signals";
import { adviceOn, ATTEMPT, sameStep, type StepCard, type StepKey } from "../catalogue.ts";
import type { Assessment, StepAdvice } from "../engine/halfsplit_wasm.js";
import {
  adviceName,
  conclusionText,
  leftOutText,
  obstacleText,
  waitsOf,
  whyText,
  type Wait,
} from "../engine-words.ts";
import { endsWithRepair } from "../job-file.ts";
import { adviceShown, assessment, gaveWay, job, language, stepKey, stepOnBench } from "../store/store.ts";
import { words } from "../words.ts";

export interface CurrentStep {
  readonly key: StepKey;
  readonly name: string;
  /** Undefined for a hand-over. */
  readonly card: StepCard | undefined;
  /** The step that the engine advises; undefined where no advice is shown. */
  readonly advised: StepAdvice | undefined;
  /** The advice about the step in view; undefined if the advice does not rank the step. */
  readonly advice: StepAdvice | undefined;
  readonly why: string;
  /** Whether the step in view can be done and is not worth doing now. */
  readonly setAside: boolean;
  /** What the step in view must wait for; undefined if it need not wait. */
  readonly wait: Wait | undefined;
  /** Conclusions from odds and costs (only for the advised step), and findings that are left out. */
  readonly remarks: readonly string[];
  /** Name of the step that was advised first, if this one has taken its place. */
  readonly insteadOf: string | undefined;
}

/** The step in view; undefined when the engine runs and no step is chosen. */
export const currentStep = computed((): CurrentStep | undefined => {
  // Reading the language makes this signal follow a change of language.
  void language.value;
  const key = stepKey.value;
  const answer = assessment.value;
  if (key === undefined || answer === null) return undefined;
  const card = stepOnBench.value;
  const advice = adviceOn(answer, key);
  const named = { key, card, name: card?.name ?? (advice ? adviceName(advice) : "") };
  if (!adviceShown.value) return { ...named, ...NO_ADVICE };
  const advised = answer.next ?? undefined;
  const isAdvised = advised !== undefined && sameStep(advised, key);
  const waits = waitsOf(answer);
  // A step that ends a wait comes first for that reason, whatever the odds and costs say.
  const endsWait = waits.some(({ until }) => until.some((step) => sameStep(step, key)));
  const first = gaveWay.value;
  return {
    ...named,
    advised,
    advice,
    why: whyOf(key, advice, answer),
    setAside: answer.set_aside.some((step) => sameStep(step, key)),
    wait: waits.find(({ steps }) => steps.some((step) => sameStep(step, key))),
    remarks: [
      ...(endsWait ? [words.waits.endsWait] : isAdvised ? answer.conclusions.flatMap(conclusionText) : []),
      ...leftOutText(answer),
    ],
    insteadOf: isAdvised && first && !sameStep(first, key) ? adviceName(first) : undefined,
  };
});

/** The fields of an exercise whose advice is hidden. */
const NO_ADVICE = {
  advised: undefined,
  advice: undefined,
  why: "",
  setAside: false,
  wait: undefined,
  remarks: [],
  insteadOf: undefined,
};

function whyOf(key: StepKey, advice: StepAdvice | undefined, answer: Assessment): string {
  if (job.value && endsWithRepair(job.value) && sameStep(key, ATTEMPT)) return words.step.afterRepair;
  if (advice) return whyText(advice);
  const not = answer.not_now.find((step) => sameStep(step, key));
  return not && not.obstacle.kind !== "waits" ? words.step.notAdvised(obstacleText(not)) : "";
}

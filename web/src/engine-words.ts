/** Puts the engine's answers into sentences in the language of the page; names come from the machine. */
import { OUTCOMES } from "./catalogue.ts";
import type {
  Assessment,
  Conclusion,
  NotNow,
  Outcome,
  RequiredStep,
  ResultOutlook,
  StepAdvice,
} from "./engine/halfsplit_wasm.js";
import { words } from "./words.ts";

/** A saving below this is named without its number. */
const WORTH_A_NUMBER = 0.5;

/** Name of a step in an answer. The attempt and the hand-over have no name in the machine. */
export function adviceName(step: Pick<StepAdvice, "kind" | "id" | "name">): string {
  if (step.kind === "attempt") return words.step.attempt;
  if (step.kind !== "hand-over") return step.name;
  return step.id === "not-worth-it" ? words.why.notWorthName : words.why.handOverName;
}

const isOutcome = (id: string): id is Outcome => OUTCOMES.some((outcome) => outcome === id);

/** Name of a result in an outlook. */
export function outlookName({ id, name }: Pick<ResultOutlook, "id" | "name">): string {
  if (id === "still-not") return words.stillNotName;
  return isOutcome(id) ? words.outcomes[id] : name;
}

/** The sentence that says why a step is advised. */
export function whyText({ reason }: StepAdvice): string {
  switch (reason.kind) {
    case "attempt":
      return words.why.runsNow(reason.p_runs);
    case "stop":
      return words.why.handOver;
    case "repair": {
      const { p_runs, then, keep_going } = reason;
      const leads = then ? ` ${words.why.stillNot(then.name, then.p_cause)}` : "";
      return words.why.repaired(p_runs) + leads + (keep_going ? ` ${words.why.goOn}` : "");
    }
    case "observation": {
      const { saves, most_informative: result } = reason;
      const worth = saves > WORTH_A_NUMBER ? words.why.saves(saves) : words.why.savesLittle;
      if (result === null) return `${worth}.`;
      const { leader, p } = result;
      return `${worth}. ${words.why.shows(outlookName(result), p, leader.name, leader.p_cause)}`;
    }
  }
}

/** The sentence of a conclusion; none if the reason for the step says it already. */
export function conclusionText(conclusion: Conclusion): string[] {
  const saves = conclusion.saves ?? 0;
  const worth = saves > WORTH_A_NUMBER ? saves : undefined;
  switch (conclusion.kind) {
    case "enough-is-known":
      return [words.remarks.enoughIsKnown(worth)];
    case "one-repair-cures":
      return [words.remarks.oneRepairCures(conclusion.causes.map((cause) => cause.name))];
    case "better-stop":
      return worth === undefined ? [] : [words.remarks.betterStop(worth)];
  }
}

/** The sentence about findings that are left out; steps are numbered from 1. */
export const leftOutText = ({ left_out }: Assessment): string[] =>
  left_out.length === 0 ? [] : [words.remarks.leftOut(left_out.map((step) => step + 1))];

/** The sentence that says why a step is not offered. */
export function obstacleText({ obstacle }: NotNow): string {
  switch (obstacle.kind) {
    case "tool":
      return words.notNow.tool(obstacle.name);
    case "not-fitted":
      return words.notNow.notFitted;
    case "try-first":
      return words.notNow.tryFirst;
    case "comes-after":
      return words.notNow.comesAfter(obstacle.any_of);
    case "waits":
      return words.notNow.waits(obstacle.why);
    case "held-off":
      return obstacle.why;
  }
}

/** A reason why steps wait, with the steps of which one ends the wait, and those that wait. */
export interface Wait {
  readonly why: string;
  readonly until: readonly RequiredStep[];
  readonly steps: readonly NotNow[];
}

/** Why steps wait, each reason once, in the order of the answer. */
export function waitsOf({ not_now }: Pick<Assessment, "not_now">): Wait[] {
  const waits = not_now.flatMap((step) =>
    step.obstacle.kind === "waits" ? [{ why: step.obstacle.why, until: step.obstacle.until, step }] : [],
  );
  return [...new Set(waits.map(({ why }) => why))].flatMap((why) => {
    const same = waits.filter((wait) => wait.why === why);
    return same[0] ? [{ why, until: same[0].until, steps: same.map(({ step }) => step) }] : [];
  });
}

/** What the engine says in sentences, in the language of the page; names come from the machine. */
import { OUTCOMES } from "./catalogue.ts";
import type {
  Assessment,
  NotNow,
  Outcome,
  Conclusion,
  ResultOutlook,
  StepAdvice,
} from "./engine/halfsplit_wasm.js";
import { words } from "./words.ts";

/** Below this a saving is not worth a number. */
const WORTH_A_NUMBER = 0.5;

/** Name of a step that is advised; those that stand once only have no name in the machine. */
export function adviceName(step: StepAdvice): string {
  if (step.kind === "attempt") return words.step.attempt;
  if (step.kind !== "hand-over") return step.name;
  return step.id === "not-worth-it" ? words.why.notWorthName : words.why.handOverName;
}

const isOutcome = (id: string): id is Outcome => OUTCOMES.some((outcome) => outcome === id);

/** Name of a result in an outlook. */
export function outlookName({ id, name }: ResultOutlook): string {
  if (id === "still-not") return words.stillNotName;
  return isOutcome(id) ? words.outcomes[id] : name;
}

/** Why a step is advised. */
export function whyText(step: StepAdvice, answer: Assessment): string {
  const [first, second] = step.results;
  switch (step.kind) {
    case "attempt":
      return words.why.runsNow(first?.p ?? 0);
    case "hand-over":
      return words.why.handOver;
    case "repair": {
      const then = second?.leader ? ` ${words.why.stillNot(second.leader.name, second.leader.p_cause)}` : "";
      return words.why.repaired(first?.p ?? 0) + then + (step.then_try ? "" : ` ${words.why.goOn}`);
    }
    default: {
      const saves = answer.plan_cost - step.expected_cost;
      const worth = saves > WORTH_A_NUMBER ? words.why.saves(saves) : words.why.savesLittle;
      const most_informative =
        step.most_informative === null ? undefined : step.results[step.most_informative];
      if (!most_informative?.leader) return `${worth}.`;
      const { leader, p } = most_informative;
      return `${worth}. ${words.why.shows(outlookName(most_informative), p, leader.name, leader.p_cause)}`;
    }
  }
}

/** What the odds and the prices come to; no sentence where the step's reason says it already. */
export function conclusionText({ kind, causes, saves }: Conclusion): string[] {
  const worth = saves !== null && saves > WORTH_A_NUMBER ? saves : undefined;
  switch (kind) {
    case "enough-is-known":
      return [words.remarks.enoughIsKnown(worth)];
    case "one-repair-cures":
      return [words.remarks.oneRepairCures(causes.map((cause) => cause.name))];
    case "better-stop":
      return worth === undefined ? [] : [words.remarks.betterStop(worth)];
  }
}

/** What was found and does not count; steps are numbered from 1 for people. */
export const leftOutText = ({ left_out }: Assessment): string[] =>
  left_out.length === 0 ? [] : [words.remarks.leftOut(left_out.map((step) => step + 1))];

/** Why a step is not offered. */
export const obstacleText = ({ obstacle, detail }: NotNow): string => words.notNow[obstacle](detail);

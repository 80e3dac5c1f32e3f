/** Which step of the job is in view: the one the user chose, or else the advised one. */
import { ATTEMPT, sameStep, stepCard, type StepKey } from "../catalogue.ts";
import type { Assessment, MachineFile } from "../engine/halfsplit_wasm.js";
import { endsWithRepair } from "../job-file.ts";
import { showsAdvice, type JobState } from "./state.ts";

/** The key of the step in view; undefined when the engine runs and no step is chosen. */
export function stepInView(bench: JobState, machine: MachineFile, answer: Assessment): StepKey | undefined {
  const { chosen } = bench;
  // An exercise gives no advice unless somebody asks for it.
  if (!chosen && !showsAdvice(bench)) return ATTEMPT;
  if (chosen && (chosen.kind === "hand-over" || stepCard(machine, chosen))) return chosen;
  return !chosen && triesRepair(bench, answer) ? ATTEMPT : (answer.next ?? undefined);
}

/** Whether the next step after a repair is the attempt that shows if it took, and not another repair. */
const triesRepair = ({ file }: JobState, { next, ranking }: Assessment): boolean =>
  endsWithRepair(file) && next?.kind !== "repair" && ranking.some((step) => sameStep(step, ATTEMPT));

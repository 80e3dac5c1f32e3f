/** Converts the particulars of a job between form and job file: prices, height, population, what is fitted. */
import type { JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import { numberFrom, typed } from "../reading-draft.ts";
import type { Answers, IntakeDraft } from "../drafts.ts";
import { words } from "../words.ts";

/** One international foot, exactly. */
const METRES_PER_FOOT = 0.3048;

type Particulars = Pick<
  JobFile,
  | "rate_per_hour"
  | "wait_cost_per_hour"
  | "hand_over_cost"
  | "machine_value"
  | "spare"
  | "altitude_m"
  | "settings"
  | "fitted"
  | "told"
>;

/** The particulars of the form, or the message about the first entry that is not a number. */
export function particularsFrom(draft: IntakeDraft, machine: MachineFile): Particulars | string {
  const made: Particulars = {};
  for (const [text, put] of [
    [draft.rate, (x: number) => (made.rate_per_hour = x)],
    [draft.wait ?? "", (x: number) => (made.wait_cost_per_hour = x)],
    [draft.handOver, (x: number) => (made.hand_over_cost = x)],
    [draft.worth ?? "", (x: number) => (made.machine_value = x)],
    [draft.altitude, (x: number) => (made.altitude_m = x * metresPer(draft.altitudeUnit))],
  ] as const) {
    if (text.trim() === "") continue;
    const value = numberFrom(text);
    if (value === undefined) return words.trouble.notANumber(text);
    put(value);
  }
  if (draft.spare !== undefined && draft.spare !== "both") made.spare = draft.spare;
  if (draft.story) made.told = true;
  const settings = answered(draft.settings, machine.settings ?? []);
  const fitted = answered(draft.fitted, fittings(machine));
  if (settings) made.settings = settings;
  if (fitted) made.fitted = fitted;
  return made;
}

const metresPer = (unit: "m" | "ft"): number => (unit === "m" ? 1 : METRES_PER_FOOT);

/** The context variables of a machine that say what is fitted to it. */
export const fittings = (machine: MachineFile) => machine.context.filter((b) => b.kind === "fitted");

/** The answers to questions of this machine. The form also keeps answers about other machines. */
export function answered(
  answers: Answers | undefined,
  questions: readonly { readonly id: string }[],
): Record<string, string> | undefined {
  const mine = questions.flatMap(({ id }) => {
    const answer = answers?.[id];
    return answer === undefined ? [] : [[id, answer] as const];
  });
  return mine.length === 0 ? undefined : Object.fromEntries(mine);
}

/** The form's draft of a job's tools and particulars. */
export function draftOf(job: JobFile): IntakeDraft {
  return {
    machine: job.machine,
    tried: null,
    kit: job.kit ?? null,
    rate: typed(job.rate_per_hour),
    wait: typed(job.wait_cost_per_hour),
    handOver: typed(job.hand_over_cost),
    worth: typed(job.machine_value),
    spare: job.spare ?? "both",
    altitude: typed(job.altitude_m),
    altitudeUnit: "m",
    settings: job.settings ?? {},
    fitted: job.fitted ?? {},
    story: job.told ?? false,
  };
}

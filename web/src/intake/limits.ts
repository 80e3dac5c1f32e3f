/** Rate, limit and height: from what is typed to the job's numbers, and back. */
import type { JobFile } from "../engine/halfsplit_wasm.js";
import { numberFrom, typed } from "../reading-draft.ts";
import type { IntakeDraft } from "../store/bench.ts";
import { words } from "../words.ts";

/** One international foot, exactly. */
const METRES_PER_FOOT = 0.3048;

type Limits = Pick<JobFile, "rate_per_hour" | "hand_over_cost" | "altitude_m">;

/** The numbers that were given, or what to say about the first that is none. */
export function limitsFrom(draft: IntakeDraft): Limits | string {
  const limits: Limits = {};
  for (const [text, put] of [
    [draft.rate, (x: number) => (limits.rate_per_hour = x)],
    [draft.handOver, (x: number) => (limits.hand_over_cost = x)],
    [draft.altitude, (x: number) => (limits.altitude_m = x * metresPer(draft.altitudeUnit))],
  ] as const) {
    if (text.trim() === "") continue;
    const value = numberFrom(text);
    if (value === undefined) return words.trouble.notANumber(text);
    put(value);
  }
  return limits;
}

const metresPer = (unit: "m" | "ft"): number => (unit === "m" ? 1 : METRES_PER_FOOT);

/** A job's tools and limits as the form shows them. */
export function draftOf(job: JobFile): IntakeDraft {
  return {
    machine: job.machine,
    tried: null,
    kit: job.kit ?? null,
    rate: typed(job.rate_per_hour),
    handOver: typed(job.hand_over_cost),
    altitude: typed(job.altitude_m),
    altitudeUnit: "m",
  };
}

import type { Assessment } from "../engine/halfsplit_wasm.js";
import { moved } from "../odds.ts";
import { recordLine } from "../catalogue.ts";
import { stepsOf } from "../job-file.ts";
import { coming, job, machine } from "../store/store.ts";
import { words } from "../words.ts";

interface Props {
  readonly answer: Assessment | null;
  /** Name of the step in view. */
  readonly step: string | undefined;
}

/** The status of the job in one line; a screen reader reads out every change. */
export function JobStatus({ answer, step }: Props) {
  return (
    <p class="job-status" role="status" aria-live="polite" aria-atomic="true">
      {coming.value ? (
        words.found.coming(recordLine(machine.value, coming.value))
      ) : answer ? (
        <Text answer={answer} step={step} />
      ) : (
        words.working
      )}
    </p>
  );
}

function Text({ answer, step }: { readonly answer: Assessment; readonly step: string | undefined }) {
  const leader = answer.causes[0];
  if (answer.status === "running" || leader === undefined) {
    return <span class="unseen">{words.closing.title}.</span>;
  }
  const { p_cause, p_cause_before, name } = leader;
  const shift = stepsOf(job.value).length > 0 && moved(p_cause_before, p_cause);
  return (
    <>
      <span>{words.causes.likeliest(name, p_cause)}</span>
      {shift && <span class="quiet"> ({words.causes.was(p_cause_before)})</span>}
      {step && <span class="unseen">; {words.causes.nextIs(step)}</span>}
    </>
  );
}

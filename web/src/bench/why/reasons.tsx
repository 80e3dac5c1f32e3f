import type { JobFile, MachineFile, Reasons as Found } from "../../engine/halfsplit_wasm.js";
import { recordLine } from "../../catalogue.ts";
import { stepsOf } from "../../job-file.ts";
import { useAnswer } from "../../ui/engine-value.ts";
import { TroubleNote } from "../../ui/trouble-note.tsx";
import { words } from "../../words.ts";
import { Numbers } from "./numbers.tsx";
import { Weights } from "./weights.tsx";
import { overturnName, resultName, sentence } from "./why-words.ts";

interface Props {
  readonly machine: MachineFile;
  readonly present: JobFile;
  /** The cause that was asked about, as part/condition; whichever leads if there is none such. */
  readonly cause: string | null;
}

/** Steps and pairs that are named. */
const FEW = 4;

/** The reasons for the odds and the advice on a job: in words, in weights, by every number. */
export function Reasons({ machine, present, cause }: Props) {
  const { value, trouble } = useAnswer("reasons", present);
  // The same thing may have been done twice: the number tells which.
  const steps = stepsOf(present).map((step, i) => words.reasons.numbered(i + 1, recordLine(machine, step)));
  // The answer to the job before stays until that to this one is there.
  const reasons = value?.steps.length === steps.length ? value : null;
  return (
    <>
      {trouble && <TroubleNote trouble={trouble} />}
      {!reasons && !trouble && <p role="status">{words.working}</p>}
      {reasons && (
        <>
          <ul class="reasons-says">
            {reasons.summary.map((remark) => (
              <li key={remark.kind}>{sentence(remark, steps)}</li>
            ))}
          </ul>
          <Weights key={cause} causes={reasons.causes} steps={steps} asked={cause} />
          <Together reasons={reasons} steps={steps} />
          <Overturns reasons={reasons} />
          <Numbers present={present} />
        </>
      )}
    </>
  );
}

interface TogetherProps {
  readonly reasons: Found;
  readonly steps: readonly string[];
}

/** Findings that seldom come together, and those that are not the reason. */
function Together({ reasons, steps }: TogetherProps) {
  const { pairs } = reasons.conflict;
  const merely = reasons.not_the_reason;
  return (
    <>
      {pairs.length > 0 && (
        <>
          <h3>{words.reasons.seldom}</h3>
          <ul class="reasons-list">
            {pairs.slice(0, FEW).map((pair) => (
              <li key={pair.steps.join()}>
                {words.reasons.pair(
                  steps[pair.steps[0]] ?? "",
                  steps[pair.steps[1]] ?? "",
                  Math.exp(pair.conflict),
                )}
              </li>
            ))}
          </ul>
        </>
      )}
      {merely.length > 0 && (
        <>
          <h3>{words.reasons.merely}</h3>
          <ul class="reasons-list">
            {merely.map((finding) => (
              <li key={finding.step}>{steps[finding.step]}</li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}

/** What would put another cause in the lead. */
function Overturns({ reasons }: { readonly reasons: Found }) {
  if (reasons.overturns.length === 0) return null;
  return (
    <>
      <h3>{words.reasons.overturn}</h3>
      <ul class="reasons-list">
        {reasons.overturns.slice(0, FEW).map((step) => (
          <li key={`${step.kind}:${step.id}`}>
            {overturnName(step)}
            <ul>
              {step.results.map((result) => (
                <li key={result.id}>
                  {words.reasons.after(
                    resultName(result),
                    result.p,
                    result.leader.name,
                    result.leader.p_cause,
                  )}
                </li>
              ))}
            </ul>
          </li>
        ))}
      </ul>
    </>
  );
}

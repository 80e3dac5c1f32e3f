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
  /** The cause to explain, as part/condition; the most likely one if it is not among the causes. */
  readonly cause: string | null;
}

/** How many steps and how many pairs are listed. */
const FEW = 4;

/** The reasons for the odds and the advice on a job: in words, as weights, and by parameter. */
export function Reasons({ machine, present, cause }: Props) {
  const { value, trouble } = useAnswer("reasons", present);
  // A step may have been done twice; its number tells the two apart.
  const steps = stepsOf(present).map((step, i) => words.reasons.numbered(i + 1, recordLine(machine, step)));
  // `value` is the answer for the previous job until the new one arrives.
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

/** Findings that seldom occur together, and abnormal findings that are not the reason. */
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

/** Results that would make another cause the most likely one. */
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

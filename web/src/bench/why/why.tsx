import { useEffect, useRef } from "preact/hooks";
import type { JobFile, MachineFile, Reasons } from "../../engine/halfsplit_wasm.js";
import { recordLine } from "../../catalogue.ts";
import { stepsOf } from "../../store/answers.ts";
import { asked } from "../../store/why.ts";
import { useAnswer } from "../../ui/engine-value.ts";
import { scrollTo } from "../../ui/follow.ts";
import { TroubleNote } from "../../ui/trouble-note.tsx";
import { words } from "../../words.ts";
import { Numbers } from "./numbers.tsx";
import { Weights } from "./weights.tsx";
import { overturnName, resultName, sentence } from "./why-words.ts";

interface Props {
  readonly machine: MachineFile;
  readonly present: JobFile;
}

/** Steps and pairs that are named. */
const FEW = 4;

function close(): void {
  asked.value = null;
  document.querySelector<HTMLElement>("#odds")?.focus();
}

/** What the odds and the advice rest on. */
export function Why({ machine, present }: Props) {
  const { value, trouble } = useAnswer("reasons", present);
  const head = useRef<HTMLHeadingElement>(null);
  const cause = asked.value;
  useEffect(() => {
    scrollTo(head.current);
    head.current?.focus({ preventScroll: true });
  }, [cause]);
  const steps = stepsOf(present).map((step) => recordLine(machine, step));
  // The answer to the job before stays until that to this one is there.
  const reasons = value?.steps.length === steps.length ? value : null;
  return (
    <section class="board reasons" aria-labelledby="reasons-title" data-testid="why">
      <h2 id="reasons-title" tabIndex={-1} ref={head}>
        {words.reasons.title}
      </h2>
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
      <button type="button" class="chalk" onClick={close}>
        {words.reasons.close}
      </button>
    </section>
  );
}

interface TogetherProps {
  readonly reasons: Reasons;
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
function Overturns({ reasons }: { readonly reasons: Reasons }) {
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

import { sameStep } from "../catalogue.ts";
import { doneBefore } from "../job-file.ts";
import { dispatch, job, reasonsOf } from "../store/store.ts";
import { Tag } from "../ui/tag.tsx";
import { words } from "../words.ts";
import type { CurrentStep } from "./current-step.ts";
import { StepEntry } from "./step-entry.tsx";
import { Cautions, HowTo, StepPrice } from "./step-facts.tsx";
import { StepWaits } from "./waits.tsx";

interface Props {
  readonly step: CurrentStep;
  /** Changes with every step, so that no half-entered result is carried over. */
  readonly place: string;
}

/** The tag of the step in view, with instructions and entry of its result. */
export function StepTag({ step, place }: Props) {
  const { card, key, advice, advised, why, setAside, wait, insteadOf } = step;
  const isAdvised = advised !== undefined && sameStep(advised, key);
  const repeats = card?.kind === "check" && job.value !== null && doneBefore(job.value, key);
  return (
    <section
      class={insteadOf === undefined ? "step" : "step step-new"}
      aria-label={isAdvised ? words.step.region : words.step.chosenRegion}
      data-testid="next-step"
      data-step={key.id}
    >
      <Tag>
        <div class="step-top">
          <p class="step-sort">{card?.sort ?? words.kinds[key.kind]}</p>
          <StepPrice card={card} advice={advice} />
        </div>
        <h2 class="step-name" tabIndex={-1}>
          {step.name}
        </h2>
        {wait && <StepWaits wait={wait} />}
        {setAside && <p class="step-remark">{words.others.setAsideHint}</p>}
        {why && <p class="step-why">{why}</p>}
        {insteadOf !== undefined && <p class="step-remark">{words.lookingAhead.before(insteadOf)}</p>}
        {step.remarks.map((remark) => (
          <p key={remark} class="step-remark">
            {remark}
          </p>
        ))}
        {why && reasonsOf.value === null && (
          <button
            type="button"
            class="plain"
            onClick={() => dispatch({ type: "ask-reasons", cause: "leader" })}
          >
            {words.reasons.openFromStep}
          </button>
        )}
        {!isAdvised && advised && (
          <button
            type="button"
            class="plain"
            onClick={() => dispatch({ type: "choose", step: { kind: advised.kind, id: advised.id } })}
          >
            {words.step.back}
          </button>
        )}
        {card && <Cautions card={card} />}
        {card && <HowTo card={card} />}
        {repeats && <p class="quiet">{words.step.repeat}</p>}
        {card ? (
          <StepEntry key={place} card={card} advice={advice} />
        ) : (
          <p class="quiet">{words.step.handOver}</p>
        )}
      </Tag>
    </section>
  );
}

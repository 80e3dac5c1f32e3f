import { doneBefore } from "../store/answers.ts";
import { chosen, job } from "../store/bench.ts";
import { sameStep } from "../catalogue.ts";
import { Tag } from "../ui/tag.tsx";
import { seed } from "../store/bench.ts";
import { asked } from "../store/why.ts";
import { adviceShown } from "../store/exercise.ts";
import { gaveWay } from "../store/further.ts";
import { words } from "../words.ts";
import { nameOf, type CurrentStep } from "./current-step.ts";
import { StepEntry } from "./step-entry.tsx";
import { Cautions, HowTo, StepPrice } from "./step-facts.tsx";

interface Props {
  readonly step: CurrentStep;
  /** Changes with every step, so that nothing half entered is carried over. */
  readonly place: string;
}

/** The one thing to do next, large. */
export function StepTag({ step, place }: Props) {
  const { card, key } = step;
  const hidden = seed.value !== null && !adviceShown.value;
  const advice = hidden ? undefined : step.advice;
  const advised = hidden ? undefined : step.advised;
  const why = hidden ? "" : step.why;
  const isAdvised = advised !== undefined && sameStep(advised, key);
  const name = nameOf(step);
  const before = isAdvised && gaveWay.value !== name ? gaveWay.value : null;
  return (
    <section
      class={before === null ? "step" : "step step-new"}
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
          {name}
        </h2>
        {why && <p class="step-why">{why}</p>}
        {before !== null && <p class="step-remark">{words.lookingAhead.before(before)}</p>}
        {!hidden &&
          step.remarks.map((remark) => (
            <p key={remark} class="step-remark">
              {remark}
            </p>
          ))}
        {why && asked.value === null && (
          <button type="button" class="plain" onClick={() => (asked.value = "leader")}>
            {words.reasons.openFromStep}
          </button>
        )}
        {!isAdvised && advised && (
          <button type="button" class="plain" onClick={() => (chosen.value = { kind: advised.kind, id: advised.id })}>
            {words.step.back}
          </button>
        )}
        {card && <Cautions card={card} />}
        {card && <HowTo card={card} />}
        {card?.kind === "check" && doneBefore(job.value, key.kind, key.id) && (
          <p class="quiet">{words.step.repeat}</p>
        )}
        {card ? (
          <StepEntry key={place} card={card} advice={advice} />
        ) : (
          <p class="quiet">{words.step.handOver}</p>
        )}
      </Tag>
    </section>
  );
}

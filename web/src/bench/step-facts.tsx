import type { StepCard } from "../catalogue.ts";
import type { StepAdvice } from "../engine/halfsplit_wasm.js";
import { words } from "../words.ts";

interface PriceProps {
  readonly card: StepCard | undefined;
  readonly advice: StepAdvice | undefined;
}

/** Minutes, hours of waiting and cost of a step. The advice knows which set-up is already open; the description does not. */
export function StepPrice({ card, advice }: PriceProps) {
  const minutes = advice?.minutes ?? card?.minutes ?? 0;
  const waitHours = advice?.wait_hours ?? card?.waitHours ?? 0;
  const parts = advice?.parts_cost ?? 0;
  const cost = advice?.cost ?? 0;
  return (
    <p class="step-price">
      {minutes > 0 && <span>{words.effort(minutes, waitHours)}</span>}
      {cost > 0 && <span>{words.step.price(cost, parts)}</span>}
    </p>
  );
}

interface CardProps {
  readonly card: StepCard;
}

/** The warnings of a step, shown before the instructions. */
export function Cautions({ card }: CardProps) {
  if (card.cautions.length === 0) return null;
  return (
    <div class="cautions">
      <p class="cautions-title">{words.step.caution}</p>
      <ul>
        {card.cautions.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
      <p class="quiet">{words.step.defer}</p>
    </div>
  );
}

/** The instructions of a step, with its set-up and tools. */
export function HowTo({ card }: CardProps) {
  return (
    <dl class="how-to">
      {card.setups.length > 0 && (
        <div>
          <dt>{words.step.setup}</dt>
          <dd>{card.setups.map((s) => words.step.setupOne(s.name, s.minutes)).join("; ")}</dd>
        </div>
      )}
      {card.tools.length > 0 && (
        <div>
          <dt>{words.step.tools}</dt>
          <dd>{card.tools.join(", ")}</dd>
        </div>
      )}
      <div class="at-length">
        <dt>{words.step.how}</dt>
        <dd class="how">{card.how}</dd>
      </div>
      {card.note !== "" && (
        <div class="at-length">
          <dt>{words.step.note}</dt>
          <dd>{card.note}</dd>
        </div>
      )}
    </dl>
  );
}

import type { Assessment, Estimate } from "../engine/halfsplit_wasm.js";
import { SHORT_WAIT } from "../say.ts";
import { words } from "../words.ts";
import { Lookahead } from "./lookahead.tsx";

interface StillToComeProps {
  readonly estimate: Estimate;
  readonly atLeast: Assessment["perfect_information_cost"];
  /** Share of the probability that is sampled and not enumerated. */
  readonly beyond: Assessment["unenumerated_mass"];
}

/** A sampled share below this changes no cost by more than its rounding. */
const WORTH_SAYING = 0.01;

/** The estimate for following the advice: minutes, waiting, cost, and the chance that the engine runs in the end. */
export function StillToCome({ estimate, atLeast, beyond }: StillToComeProps) {
  const { p_runs, minutes, wait_hours, cost } = estimate;
  const say = words.stillToCome;
  return (
    <section class="still-to-come" aria-labelledby="still-to-come" data-testid="still-to-come">
      <h2 id="still-to-come">{say.title}</h2>
      <dl>
        <div>
          <dt>{say.work}</dt>
          <dd>
            {words.minutes(minutes.mean)} <span class="quiet">{say.minutesAtMost(minutes.p90)}</span>
          </dd>
        </div>
        {(wait_hours.mean >= SHORT_WAIT || wait_hours.p90 >= SHORT_WAIT) && (
          <div>
            <dt>{say.wait}</dt>
            <dd>
              {words.waiting(wait_hours.mean)} <span class="quiet">{say.waitAtMost(wait_hours.p90)}</span>
            </dd>
          </div>
        )}
        <div>
          <dt>{say.price}</dt>
          <dd>
            {words.money(cost.mean)} <span class="quiet">{say.priceAtMost(cost.p90)}</span>
          </dd>
        </div>
        <div>
          <dt>{say.atLeast}</dt>
          <dd>
            {words.money(atLeast)} <span class="quiet">{say.noLess}</span>
          </dd>
        </div>
        <div>
          <dt>{say.runs}</dt>
          <dd>{words.oddsAndPercent(p_runs)}</dd>
        </div>
      </dl>
      <p class="quiet">
        {say.hint} {beyond >= WORTH_SAYING && say.sampled(beyond)}
      </p>
      <Lookahead />
    </section>
  );
}

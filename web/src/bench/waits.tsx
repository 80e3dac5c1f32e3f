import { useState } from "preact/hooks";
import { sameStep, type StepKey } from "../catalogue.ts";
import type { Assessment, RequiredStep } from "../engine/halfsplit_wasm.js";
import { adviceName, waitsOf, type Wait } from "../engine-words.ts";
import { dispatch } from "../store/store.ts";
import { toStep } from "../ui/follow.ts";
import { words } from "../words.ts";

/** Puts a step in view, also where it is in view already and nothing changes. */
function show({ kind, id }: StepKey): void {
  dispatch({ type: "choose", step: { kind, id } });
  toStep();
}

interface Props {
  readonly answer: Assessment;
  /** The step in view; its tag says what it waits for. */
  readonly current: StepKey | undefined;
}

/** What must wait, why, and the steps that end the wait. */
export function Waits({ answer, current }: Props) {
  const waits = waitsOf(answer).filter(
    ({ steps }) => current === undefined || !steps.some((step) => sameStep(step, current)),
  );
  if (waits.length === 0) return null;
  return (
    <section class="waits" aria-labelledby="waits-title" data-testid="waits">
      <h2 id="waits-title">{words.waits.title}</h2>
      {waits.map((wait) => (
        <OneWait key={wait.why} wait={wait} />
      ))}
    </section>
  );
}

function OneWait({ wait }: { readonly wait: Wait }) {
  const [open, setOpen] = useState(false);
  return (
    <div class="wait">
      <p class="wait-why">{wait.why}</p>
      <First until={wait.until} />
      <button type="button" class="plain" aria-expanded={open} onClick={() => setOpen(!open)}>
        {words.waits.show(wait.steps.length)}
      </button>
      {open && (
        <>
          <p class="quiet">{words.waits.doneAnyway}</p>
          <ul class="pegs">
            {wait.steps.map((step) => (
              <li key={`${step.kind}:${step.id}`}>
                <button type="button" class="peg" onClick={() => show(step)}>
                  <span class="peg-name">{adviceName(step)}</span>
                </button>
              </li>
            ))}
          </ul>
        </>
      )}
    </div>
  );
}

/** The steps of which one ends a wait. */
function First({ until }: { readonly until: readonly RequiredStep[] }) {
  return (
    <>
      <p>{words.waits.first(until.length)}</p>
      <ul class="wait-first">
        {until.map((step) => (
          <li key={`${step.kind}:${step.id}`}>
            <button type="button" class="steel" onClick={() => show(step)}>
              {adviceName(step)}
            </button>
          </li>
        ))}
      </ul>
    </>
  );
}

/** Why the step in view must wait, and the steps that end the wait. */
export function StepWaits({ wait }: { readonly wait: Wait }) {
  return (
    <div class="wait step-waits" data-testid="step-waits">
      <p class="stubs-title">{words.waits.thisStep}</p>
      <p class="wait-why">{wait.why}</p>
      <First until={wait.until} />
      <p class="quiet">{words.waits.thisDoneAnyway}</p>
    </div>
  );
}

import { useId, useState } from "preact/hooks";
import type { Supposition } from "../engine/halfsplit_wasm.js";
import { useAnswer } from "../ui/engine-value.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { CauseSelect } from "./cause-select.tsx";
import type { LessonProps } from "./lesson-props.ts";

/** Ends of the slider, as powers of two: the odds change by a factor of up to sixteen either way. */
const FURTHEST = 4;
/** Step of the slider for trust. */
const TRUST_STEP = 0.05;

/** The page that shows the odds under other rates or another trust in hearsay. */
export function Suppose({ present, description, causes, time }: LessonProps) {
  const id = useId();
  const [place, setPlace] = useState(0);
  const [power, setPower] = useState(0);
  const [told, setTold] = useState(description.trust.told);
  const cause = causes[place] ?? causes[0];
  const factors =
    cause && power !== 0 ? [{ part: cause.part, condition: cause.condition, factor: 2 ** power }] : [];
  const what: Supposition = { factors, ...(told !== description.trust.told && { told }) };
  const asked = useAnswer("odds_history", present, what);
  const other = (part: string, condition: string): number | undefined =>
    asked.value?.causes.find((c) => c.part === part && c.condition === condition)?.p[time];
  return (
    <section class="board lesson-board">
      <p>{words.lesson.supposeLead}</p>
      <CauseSelect causes={causes} value={place} onChange={setPlace} />
      <div class="field">
        <label for={`${id}-rate`}>{words.lesson.supposeFactor}</label>
        <input
          id={`${id}-rate`}
          type="range"
          min={-FURTHEST}
          max={FURTHEST}
          step={1}
          value={power}
          aria-valuetext={factorText(power)}
          onInput={(event) => setPower(Number(event.currentTarget.value))}
        />
        <output for={`${id}-rate`}>{factorText(power)}</output>
      </div>
      <div class="field">
        <label for={`${id}-told`}>{words.lesson.told}</label>
        <input
          id={`${id}-told`}
          type="range"
          min={0}
          max={1}
          step={TRUST_STEP}
          value={told}
          aria-valuetext={words.lesson.trust(told)}
          onInput={(event) => setTold(Number(event.currentTarget.value))}
        />
        <output for={`${id}-told`}>{words.lesson.trust(told)}</output>
      </div>
      <button
        type="button"
        class="chalk"
        onClick={() => {
          setPower(0);
          setTold(description.trust.told);
        }}
      >
        {words.lesson.reset}
      </button>
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      <table class="figures" aria-live="polite">
        <caption class="unseen">{words.lesson.tabs.suppose}</caption>
        <thead>
          <tr>
            <th scope="col">{words.lesson.cause}</th>
            <th scope="col">{words.lesson.now}</th>
            <th scope="col">{words.lesson.supposed}</th>
          </tr>
        </thead>
        <tbody>
          {causes.map((c) => (
            <tr key={`${c.part}/${c.condition}`} data-cause={`${c.part}/${c.condition}`}>
              <th scope="row">{c.name}</th>
              <td>{words.percent(c.p[time] ?? 0)}</td>
              <td>{words.percent(other(c.part, c.condition) ?? c.p[time] ?? 0)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

const factorText = (power: number): string =>
  power === 0 ? words.lesson.asAuthored : words.lesson.timesAsLikely(2 ** power);

import { useEffect, useState } from "preact/hooks";
import { assessment, stepsOf } from "../store/answers.ts";
import { job, seed } from "../store/bench.ts";
import { adviceShown, ranLast, reveal, revealed } from "../store/exercise.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import type { Trouble } from "../trouble.ts";
import { words } from "../words.ts";

/** The head of an exercise: the clock, and at the end what it was. */
export function Exercise() {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const steps = stepsOf(job.value).length;
  const ran = ranLast();
  const spent = assessment.value?.spent;
  // What was revealed belongs to the job as it stood.
  useEffect(() => {
    revealed.value = null;
  }, [steps]);
  return (
    <section class="exercise slip" aria-label={words.exercise.region} data-testid="exercise">
      <p class="slip-title">
        {words.exercise.region} {seed.value}
      </p>
      <p class="exercise-clock" role="status">
        {ran && `${words.exercise.ran} `}
        {spent && words.exercise.clock(spent.minutes)}
      </p>
      <div class="row">
        <button type="button" class={ran ? "act" : "steel"} onClick={() => void reveal().then(setTrouble)}>
          {ran ? words.exercise.see : words.exercise.giveUp}
        </button>
        <button
          type="button"
          class="steel"
          aria-pressed={adviceShown.value}
          onClick={() => (adviceShown.value = !adviceShown.value)}
        >
          {words.exercise.showAdvice}
        </button>
      </div>
      {!adviceShown.value && <p class="quiet">{words.exercise.hideAdvice}</p>}
      {trouble && <TroubleNote trouble={trouble} />}
      <Reveal />
    </section>
  );
}

const yesNo = (yes: boolean): string => (yes ? words.exercise.yes : words.exercise.no);

function Reveal() {
  const shown = revealed.value;
  if (shown === null) return null;
  const { hidden, played } = shown;
  const rows = [
    [words.exercise.runs, yesNo(hidden.runs), yesNo(played.runs)],
    [words.exercise.steps, stepsOf(job.value).length, stepsOf(played.job).length],
    [words.exercise.time, words.minutes(hidden.spent.minutes), words.minutes(played.spent.minutes)],
    [words.exercise.cost, words.money(hidden.spent.cost), words.money(played.spent.cost)],
  ] as const;
  return (
    <>
      <h2>{words.exercise.was}</h2>
      <ul class="closing-list">
        {hidden.conditions.map((c) => (
          <li key={`${c.part}/${c.condition}`}>
            <strong>{c.name}</strong>{" "}
            <span class="quiet">
              {c.cause ? words.exercise.stopped : words.exercise.harmless}
              {c.mended && `, ${words.exercise.mended}`}
            </span>
          </li>
        ))}
      </ul>
      <table class="figures">
        <caption class="unseen">{words.exercise.compare}</caption>
        <thead>
          <tr>
            <th scope="col">
              <span class="unseen">{words.exercise.compare}</span>
            </th>
            <th scope="col">{words.exercise.you}</th>
            <th scope="col">{words.exercise.advice}</th>
          </tr>
        </thead>
        <tbody>
          {rows.map(([name, you, advice]) => (
            <tr key={name}>
              <th scope="row">{name}</th>
              <td>{you}</td>
              <td>{advice}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  );
}

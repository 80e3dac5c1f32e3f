import { useState } from "preact/hooks";
import type { Spent } from "../engine/halfsplit_wasm.js";
import { ranLast, stepsOf } from "../job-file.ts";
import { reveal } from "../store/exercise.ts";
import type { Exercise as Shown, Revealed } from "../store/state.ts";
import { assessment, dispatch, job } from "../store/store.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import type { Trouble } from "../trouble.ts";
import { words } from "../words.ts";

/** The head of an exercise: the clock, and at the end the fault. */
export function Exercise({ shown }: { readonly shown: Shown }) {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const ran = job.value !== null && ranLast(job.value);
  const spent = assessment.value?.spent;
  return (
    <section class="exercise notice" aria-label={words.exercise.region} data-testid="exercise">
      <p class="notice-title">
        {words.exercise.region} {shown.seed}
      </p>
      <p class="exercise-clock" role="status">
        {ran && `${words.exercise.ran} `}
        {spent && words.exercise.clock(spent.minutes, spent.wait_hours)}
      </p>
      <div class="row">
        <button type="button" class={ran ? "act" : "steel"} onClick={() => void reveal().then(setTrouble)}>
          {ran ? words.exercise.see : words.exercise.giveUp}
        </button>
        <button
          type="button"
          class="steel"
          aria-pressed={shown.adviceShown}
          onClick={() => dispatch({ type: "show-advice", shown: !shown.adviceShown })}
        >
          {words.exercise.showAdvice}
        </button>
      </div>
      {!shown.adviceShown && <p class="quiet">{words.exercise.hideAdvice}</p>}
      {trouble && <TroubleNote trouble={trouble} />}
      {shown.revealed && <Reveal {...shown.revealed} />}
    </section>
  );
}

const yesNo = (yes: boolean): string => (yes ? words.exercise.yes : words.exercise.no);

const timeOf = ({ minutes, wait_hours }: Spent): string => words.effort(minutes, wait_hours);

function Reveal({ hidden, played }: Revealed) {
  const rows = [
    [words.exercise.runs, yesNo(hidden.runs), yesNo(played.runs)],
    [words.exercise.steps, stepsOf(job.value).length, stepsOf(played.job).length],
    [words.exercise.time, timeOf(hidden.spent), timeOf(played.spent)],
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

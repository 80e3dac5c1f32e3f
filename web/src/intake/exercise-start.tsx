import { useId, useLayoutEffect, useState } from "preact/hooks";
import { LARGEST_SEED, randomSeed, startExercise } from "../store/exercise.ts";
import { pending } from "../store/store.ts";
import { drawnAhead } from "../ui/drawn-ahead.ts";
import { NumberField } from "../ui/number-field.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";

/** The form that starts an exercise: a machine with a hidden fault. */
export function ExerciseStart({ machine }: { readonly machine: string }) {
  const id = useId();
  const [number, setNumber] = useState("");
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  // The seed is drawn in an effect, because the first rendering is done once, when the page is built.
  useLayoutEffect(() => setNumber(String(randomSeed())), []);
  const start = (event: Event): void => {
    event.preventDefault();
    const seed = Number(number);
    if (!Number.isInteger(seed) || seed < 1 || seed > LARGEST_SEED) {
      setTrouble(ownTrouble(words.exercise.badNumber(LARGEST_SEED)));
      return;
    }
    setTrouble(null);
    void startExercise(machine, seed).then(setTrouble);
  };
  return (
    <section class="exercise-start" inert={drawnAhead} aria-labelledby={`${id}-title`}>
      <h2 id={`${id}-title`}>{words.exercise.begin}</h2>
      <p class="lead">{words.exercise.lead}</p>
      <form class="exercise-form" onSubmit={start} noValidate>
        <NumberField
          inputMode="numeric"
          label={words.exercise.number}
          hint={words.exercise.numberHint}
          value={number}
          onInput={setNumber}
        />
        <button type="submit" class="steel" disabled={pending.value}>
          {words.exercise.start}
        </button>
      </form>
      {trouble && <TroubleNote trouble={trouble} />}
    </section>
  );
}

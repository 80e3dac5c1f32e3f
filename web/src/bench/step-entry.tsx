import { useState } from "preact/hooks";
import { recordOf, stepText, type StepCard } from "../catalogue.ts";
import type { StepAdvice, StepRecord } from "../engine/halfsplit_wasm.js";
import { record } from "../store/changes.ts";
import type { StepDraft } from "../drafts.ts";
import { enteredKnown, enteredReading } from "../store/entered.ts";
import { takeStep } from "../store/exercise.ts";
import { dispatch, draftOf, exercise, pending, storyTold } from "../store/store.ts";
import { KnownChoice } from "../ui/known-choice.tsx";
import { ReadingFields } from "../ui/reading-fields.tsx";
import { single } from "../ui/single.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { outlookName } from "../engine-words.ts";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { outlookText, ResultStubs } from "./result-stubs.tsx";

interface Props {
  readonly card: StepCard;
  readonly advice: StepAdvice | undefined;
}

/** The form for the result of the step in view; in an exercise, the button that draws it. */
export function StepEntry(props: Props) {
  return exercise.value === null ? <Enter {...props} /> : <Draw card={props.card} />;
}

/** The button of an exercise that draws the result. */
function Draw({ card }: { readonly card: StepCard }) {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  return (
    <div class="entry draw" id="result" tabIndex={-1}>
      {trouble && <TroubleNote trouble={trouble} />}
      <button
        type="button"
        class="act act-large"
        disabled={pending.value}
        onClick={single(() => void takeStep(card).then(setTrouble))}
      >
        {words.exercise.pick}
      </button>
      <p class="quiet">{words.exercise.pickHint}</p>
    </div>
  );
}

function Enter({ card, advice }: Props) {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const step = stepText(card);
  const entered = draftOf(step);
  const known = enteredKnown(card);
  const enter = (part: Partial<Omit<StepDraft, "step">>): void => dispatch({ type: "type", step, part });
  const submit = (made: StepRecord): void => {
    setTrouble(null);
    void record(made).then(setTrouble);
  };
  const submitReading = (event: Event): void => {
    event.preventDefault();
    const made = enteredReading(card);
    if (typeof made === "string") setTrouble(ownTrouble(made));
    else if (made) submit(made);
  };

  const outlooks = advice?.results ?? [];
  const busy = pending.value;
  return (
    <div class="entry" id="result" tabIndex={-1}>
      {card.knownAs !== undefined && known !== undefined && (
        <KnownChoice value={known} onChange={(value) => enter({ known: value })} />
      )}
      {card.reading && (
        <form class="reading" onSubmit={submitReading} noValidate>
          <p class="stubs-title">{words.reading.title}</p>
          <ReadingFields
            gauge={card.reading}
            draft={entered.reading}
            onChange={(reading) => enter({ reading })}
          />
          <button type="submit" class="act" disabled={busy}>
            {words.reading.record}
          </button>
        </form>
      )}
      {trouble && <TroubleNote trouble={trouble} />}
      {card.kind === "repair" ? (
        <RepairDone card={card} advice={advice} busy={busy} onDone={submit} />
      ) : (
        <ResultStubs
          title={entryTitle(card)}
          results={card.results}
          outlooks={outlooks}
          disabled={busy}
          onChoose={(result) => submit(recordOf(card, result, known, storyTold.value))}
        />
      )}
    </div>
  );
}

function entryTitle(card: StepCard): string {
  if (card.reading) return words.reading.bands;
  return card.kind === "check" ? words.step.whatCameOut : words.step.whatHappened;
}

interface RepairProps extends Props {
  readonly busy: boolean;
  readonly onDone: (made: StepRecord) => void;
}

/** The entry of a repair, which has one result: done. The start attempt after it shows whether it took. */
function RepairDone({ card, advice, busy, onDone }: RepairProps) {
  const outlooks = advice?.results ?? [];
  return (
    <div class="repair-done">
      {outlooks.length > 0 && (
        <div>
          <p class="stubs-title">{words.step.wouldLead}</p>
          <ul class="outlooks">
            {outlooks.map((outlook) => (
              <li key={outlook.id}>
                <strong>{outlookName(outlook)}</strong> {outlookText(outlook)}
              </li>
            ))}
          </ul>
        </div>
      )}
      <button
        type="button"
        class="act act-large"
        disabled={busy}
        onClick={single(() => onDone(recordOf(card, "", undefined, storyTold.value)))}
      >
        {words.step.done}
      </button>
      <p class="quiet">{words.step.doneHint}</p>
    </div>
  );
}

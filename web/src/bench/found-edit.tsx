import { useId, useState } from "preact/hooks";
import { keyOf, knownByDefault, stepCard, type StepCard } from "../catalogue.ts";
import type { Provenance, MachineFile, Outcome, StepRecord } from "../engine/halfsplit_wasm.js";
import { draftFrom, readingFrom } from "../reading-draft.ts";
import { correct, remove } from "../store/changes.ts";
import { EMPTY_READING } from "../drafts.ts";
import { usualUnit } from "../store/prefs.ts";
import { pending, storyTold } from "../store/store.ts";
import { KnownChoice } from "../ui/known-choice.tsx";
import { ReadingFields } from "../ui/reading-fields.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";

/** The option for "a number was read" in the list of results. */
const BY_NUMBER = "";

interface Props {
  readonly machine: MachineFile | null;
  readonly step: StepRecord;
  readonly place: number;
  readonly onClose: () => void;
}

/** The form that corrects or removes a recorded step. */
export function FoundEdit({ machine, step, place, onClose }: Props) {
  const id = useId();
  const card = machine ? stepCard(machine, keyOf(step)) : undefined;
  const [result, setResult] = useState(resultOf(step));
  const [known, setKnown] = useState<Provenance | undefined>(
    (step.do === "check" ? step.known : undefined) ?? knownByDefault(storyTold.value, card?.knownAs),
  );
  const [reading, setReading] = useState(
    step.do === "check" && step.reading ? draftFrom(step.reading) : EMPTY_READING,
  );
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  const finish = (done: Promise<Trouble | null>): void => {
    void done.then((found) => (found ? setTrouble(found) : onClose()));
  };
  const save = (event: Event): void => {
    event.preventDefault();
    if (card?.reading && result === BY_NUMBER) {
      const number = readingFrom(reading, usualUnit(card.reading.quantity));
      if (typeof number === "string") setTrouble(ownTrouble(number));
      else finish(correct(place, withKnown({ do: "check", check: card.id, reading: number }, known)));
    } else {
      finish(correct(place, withKnown(withResult(step, result), known)));
    }
  };
  return (
    <form class="found-edit" onSubmit={save} noValidate>
      {card && card.results.length > 0 && (
        <ResultSelect id={id} card={card} value={result} onChange={setResult} />
      )}
      {card?.reading && result === BY_NUMBER && (
        <ReadingFields gauge={card.reading} draft={reading} onChange={setReading} />
      )}
      {known && <KnownChoice value={known} onChange={setKnown} />}
      {trouble && <TroubleNote trouble={trouble} />}
      <div class="row">
        {card && card.results.length > 0 && (
          <button type="submit" class="act" disabled={pending.value}>
            {words.found.save}
          </button>
        )}
        <button type="button" class="steel" disabled={pending.value} onClick={() => finish(remove(place))}>
          {words.found.remove}
        </button>
        <button type="button" class="plain" onClick={onClose}>
          {words.found.cancel}
        </button>
      </div>
    </form>
  );
}

function resultOf(step: StepRecord): string {
  if (step.do === "attempt") return step.outcome;
  return step.do === "check" ? (step.result ?? BY_NUMBER) : BY_NUMBER;
}

/** The same step with another result; bypasses in place stay. */
function withResult(step: StepRecord, result: string): StepRecord {
  if (step.do === "attempt") return { ...step, outcome: result as Outcome };
  return step.do === "check" ? { do: "check", check: step.check, result } : step;
}

const withKnown = (step: StepRecord, known: Provenance | undefined): StepRecord =>
  step.do === "check" && known !== undefined ? { ...step, known } : step;

interface SelectProps {
  readonly id: string;
  readonly card: StepCard;
  readonly value: string;
  readonly onChange: (result: string) => void;
}

function ResultSelect({ id, card, value, onChange }: SelectProps) {
  return (
    <label class="field" for={id}>
      <span>{words.found.result}</span>
      <select id={id} value={value} onChange={(event) => onChange(event.currentTarget.value)}>
        {card.reading && <option value={BY_NUMBER}>{words.reading.title}</option>}
        {card.results.map((r) => (
          <option key={r.id} value={r.id}>
            {r.name}
          </option>
        ))}
      </select>
    </label>
  );
}

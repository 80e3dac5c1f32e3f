import { useId } from "preact/hooks";
import type { ReadingFile, Unit } from "../engine/halfsplit_wasm.js";
import { UNITS } from "../reading-draft.ts";
import type { ReadingDraft, ReadingMode } from "../drafts.ts";
import { usualUnit } from "../store/prefs.ts";
import { words } from "../words.ts";

interface Props {
  readonly gauge: ReadingFile;
  readonly draft: ReadingDraft;
  readonly onChange: (draft: ReadingDraft) => void;
}

const MODES: readonly ReadingMode[] = ["value", "over", "between"];

/** The fields for a reading and its unit. They are text fields, so that wheel and arrow keys change nothing. */
export function ReadingFields({ gauge, draft, onChange }: Props) {
  const id = useId();
  const two = draft.mode === "between";
  const number = (which: "first" | "second", label: string) => (
    <label class="field field-number">
      <span>{label}</span>
      <input
        type="text"
        inputMode="decimal"
        autocomplete="off"
        enterkeyhint="done"
        value={draft[which]}
        onInput={(event) => onChange({ ...draft, [which]: event.currentTarget.value })}
      />
    </label>
  );
  return (
    <div class="reading-fields">
      <label class="field" for={`${id}-mode`}>
        <span>{words.reading.mode}</span>
        <select
          id={`${id}-mode`}
          value={draft.mode}
          onChange={(event) => onChange({ ...draft, mode: event.currentTarget.value as ReadingMode })}
        >
          {MODES.map((mode) => (
            <option key={mode} value={mode}>
              {words.reading.modes[mode]}
            </option>
          ))}
        </select>
      </label>
      {number("first", two ? words.reading.low : words.reading.value)}
      {two && number("second", words.reading.high)}
      <label class="field" for={`${id}-unit`}>
        <span>{words.reading.unit}</span>
        <select
          id={`${id}-unit`}
          value={draft.unit ?? usualUnit(gauge.quantity)}
          onChange={(event) => onChange({ ...draft, unit: event.currentTarget.value as Unit })}
        >
          {UNITS[gauge.quantity].map((unit) => (
            <option key={unit} value={unit}>
              {words.units[unit]}
            </option>
          ))}
        </select>
      </label>
    </div>
  );
}

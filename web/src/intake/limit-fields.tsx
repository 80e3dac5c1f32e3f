import type { ComponentChildren } from "preact";
import { useId } from "preact/hooks";
import type { MachineFile } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft } from "../store/bench.ts";
import { words } from "../words.ts";

interface Props {
  readonly machine: MachineFile;
  readonly draft: IntakeDraft;
  readonly onChange: (draft: IntakeDraft) => void;
}

/** Rate, limit and height; all may stay empty. */
export function LimitFields({ machine, draft, onChange }: Props) {
  const { rate_per_hour, hand_over_cost } = machine.defaults;
  return (
    <div class="limits">
      <LimitField
        label={words.intake.rate}
        hint={`${words.intake.rateHint}; ${words.intake.usual(rate_per_hour)}`}
        value={draft.rate}
        onInput={(rate) => onChange({ ...draft, rate })}
      />
      <LimitField
        label={words.intake.handOver}
        hint={`${words.intake.handOverHint}; ${words.intake.usual(hand_over_cost)}`}
        value={draft.handOver}
        onInput={(handOver) => onChange({ ...draft, handOver })}
      />
      <LimitField
        label={words.intake.altitude}
        hint={words.intake.altitudeHint}
        value={draft.altitude}
        onInput={(altitude) => onChange({ ...draft, altitude })}
      >
        <select
          aria-label={words.reading.unit}
          value={draft.altitudeUnit}
          onChange={(event) =>
            onChange({ ...draft, altitudeUnit: event.currentTarget.value === "ft" ? "ft" : "m" })
          }
        >
          <option value="m">{words.intake.metres}</option>
          <option value="ft">{words.intake.feet}</option>
        </select>
      </LimitField>
    </div>
  );
}

interface FieldProps {
  readonly label: string;
  readonly hint: string;
  readonly value: string;
  readonly onInput: (text: string) => void;
  /** A unit to choose. */
  readonly children?: ComponentChildren;
}

function LimitField({ label, hint, value, onInput, children }: FieldProps) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <span class="with-unit">
        <input
          id={id}
          type="text"
          inputMode="decimal"
          autocomplete="off"
          value={value}
          aria-describedby={`${id}-hint`}
          onInput={(event) => onInput(event.currentTarget.value)}
        />
        {children}
      </span>
      <small id={`${id}-hint`}>{hint}</small>
    </div>
  );
}

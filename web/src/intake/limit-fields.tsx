import type { MachineFile } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft } from "../store/bench.ts";
import { NumberField } from "../ui/number-field.tsx";
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
      <NumberField
        inputMode="decimal"
        label={words.intake.rate}
        hint={`${words.intake.rateHint}; ${words.intake.usual(rate_per_hour)}`}
        value={draft.rate}
        onInput={(rate) => onChange({ ...draft, rate })}
      />
      <NumberField
        inputMode="decimal"
        label={words.intake.handOver}
        hint={`${words.intake.handOverHint}; ${words.intake.usual(hand_over_cost)}`}
        value={draft.handOver}
        onInput={(handOver) => onChange({ ...draft, handOver })}
      />
      <NumberField
        inputMode="decimal"
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
      </NumberField>
    </div>
  );
}

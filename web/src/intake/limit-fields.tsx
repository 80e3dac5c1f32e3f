import type { MachineFile, Objective } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft } from "../drafts.ts";
import { NumberField } from "../ui/number-field.tsx";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { words } from "../words.ts";

interface Props {
  readonly machine: MachineFile;
  readonly draft: IntakeDraft;
  readonly onChange: (draft: IntakeDraft) => void;
}

const SPARE: readonly Objective[] = ["both", "minutes", "money"];

/** The fields for objective, rate, limits and height; all have defaults. */
export function LimitFields({ machine, draft, onChange }: Props) {
  const { rate_per_hour, wait_cost_per_hour, hand_over_cost } = machine.defaults;
  return (
    <div class="limits">
      <StampChoice
        legend={words.intake.spare}
        columns={3}
        options={SPARE.map((value) => ({ value, name: words.intake.spared[value] }))}
        value={draft.spare ?? "both"}
        onChange={(spare) => onChange({ ...draft, spare })}
      />
      <NumberField
        inputMode="decimal"
        label={words.intake.rate}
        hint={`${words.intake.rateHint}; ${words.intake.usual(rate_per_hour)}`}
        value={draft.rate}
        onInput={(rate) => onChange({ ...draft, rate })}
      />
      <NumberField
        inputMode="decimal"
        label={words.intake.wait}
        hint={[
          words.intake.waitHint,
          ...(wait_cost_per_hour ? [words.intake.usual(wait_cost_per_hour)] : []),
        ].join("; ")}
        value={draft.wait ?? ""}
        onInput={(wait) => onChange({ ...draft, wait })}
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
        label={words.intake.worth}
        hint={words.intake.worthHint}
        value={draft.worth ?? ""}
        onInput={(worth) => onChange({ ...draft, worth })}
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

import type { MachineFile } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft } from "../drafts.ts";
import { words } from "../words.ts";
import { LimitFields } from "./limit-fields.tsx";
import { fittings } from "./limits.ts";
import { QuestionList } from "./question-list.tsx";

interface Props {
  readonly machine: MachineFile;
  readonly draft: IntakeDraft;
  readonly onChange: (draft: IntakeDraft) => void;
}

/** The fields for what is fitted, the population and prices; all are optional. */
export function Particulars({ machine, draft, onChange }: Props) {
  return (
    <>
      <QuestionList
        title={words.intake.fitted}
        hint={words.intake.fittedHint}
        questions={fittings(machine).map(({ id, name, states }) => ({ id, name, choices: states }))}
        answers={draft.fitted}
        onChange={(fitted) => onChange({ ...draft, fitted })}
      />
      <QuestionList
        title={words.intake.from}
        hint={words.intake.fromHint}
        questions={machine.settings ?? []}
        answers={draft.settings}
        onChange={(settings) => onChange({ ...draft, settings })}
      />
      <details class="limits-fold">
        <summary>{words.intake.limits}</summary>
        <LimitFields machine={machine} draft={draft} onChange={onChange} />
      </details>
    </>
  );
}

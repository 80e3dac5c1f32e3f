import type { MachineFile } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft } from "../drafts.ts";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { words } from "../words.ts";
import { LimitFields } from "./limit-fields.tsx";
import { fittings } from "./limits.ts";
import { QuestionList } from "./question-list.tsx";

interface Props {
  readonly machine: MachineFile;
  readonly draft: IntakeDraft;
  readonly onChange: (draft: IntakeDraft) => void;
}

const STORY = ["seen", "told"] as const;

/** The fields for how the story is known, what is fitted, the population and prices; all are optional. */
export function Particulars({ machine, draft, onChange }: Props) {
  return (
    <>
      <StampChoice
        legend={words.intake.story}
        columns={2}
        options={STORY.map((value) => ({ value, name: words.intake.stories[value] }))}
        value={draft.story ? "told" : "seen"}
        onChange={(story) => onChange({ ...draft, story: story === "told" })}
      />
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

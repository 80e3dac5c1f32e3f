import { useId } from "preact/hooks";
import type { Answers } from "../drafts.ts";
import { words } from "../words.ts";

/** A question about the machine with its possible answers. */
export interface Question {
  readonly id: string;
  readonly name: string;
  readonly hint?: string;
  readonly choices: readonly { readonly id: string; readonly name: string }[];
}

interface Props {
  readonly title: string;
  readonly hint: string;
  readonly questions: readonly Question[];
  readonly answers: Answers | undefined;
  readonly onChange: (answers: Answers) => void;
}

const NONE: Answers = {};

/** A folded list of optional questions; its heading says how many are answered. */
export function QuestionList({ title, hint, questions, answers = NONE, onChange }: Props) {
  if (questions.length === 0) return null;
  const known = questions.filter(({ id }) => answers[id] !== undefined).length;
  const answer = (id: string, choice: string): void => {
    const { [id]: _, ...others } = answers;
    onChange(choice === "" ? others : { ...others, [id]: choice });
  };
  return (
    <details class="questions">
      <summary>
        {title} <span class="quiet">{words.intake.known(known, questions.length)}</span>
      </summary>
      <div class="question-list">
        <p class="quiet">{hint}</p>
        {questions.map((question) => (
          <Choice
            key={question.id}
            question={question}
            value={answers[question.id] ?? ""}
            onChange={(choice) => answer(question.id, choice)}
          />
        ))}
      </div>
    </details>
  );
}

interface ChoiceProps {
  readonly question: Question;
  readonly value: string;
  readonly onChange: (choice: string) => void;
}

function Choice({ question, value, onChange }: ChoiceProps) {
  const id = useId();
  const { name, hint, choices } = question;
  return (
    <div class="field">
      <label for={id}>{name}</label>
      <select
        id={id}
        value={value}
        {...(hint !== undefined && { "aria-describedby": `${id}-hint` })}
        onChange={(event) => onChange(event.currentTarget.value)}
      >
        <option value="">{words.intake.open}</option>
        {choices.map((choice) => (
          <option key={choice.id} value={choice.id}>
            {choice.name}
          </option>
        ))}
      </select>
      {hint !== undefined && <small id={`${id}-hint`}>{hint}</small>}
    </div>
  );
}

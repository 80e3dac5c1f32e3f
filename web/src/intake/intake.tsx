import { useEffect, useState } from "preact/hooks";
import type { JobFile, MachineFile, Outcome, StepRecord } from "../engine/halfsplit_wasm.js";
import demoJob from "../engine/demo.json?raw";
import { engine } from "../engine-client.ts";
import { machineOf } from "../store/answers.ts";
import { begin } from "../store/changes.ts";
import { EMPTY_INTAKE, type IntakeDraft } from "../drafts.ts";
import { dispatch, intake, machineNamed, pending } from "../store/store.ts";
import { drawnAhead } from "../ui/drawn-ahead.ts";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { Tag } from "../ui/tag.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { machineLines } from "../machines.ts";
import { words } from "../words.ts";
import { ExerciseStart } from "./exercise-start.tsx";
import { answered, particularsFrom } from "./limits.ts";
import { Particulars } from "./particulars.tsx";
import { Prefs } from "./prefs.tsx";
import { QuestionList, type Question } from "./question-list.tsx";
import { JobFileField, ShelfList } from "./shelf-list.tsx";
import { commonKit, ToolBoard } from "./tool-board.tsx";

const fillIn = (draft: IntakeDraft): void => dispatch({ type: "fill-in", intake: draft });

/** The intake: machine, tools and limits of a new job, or a job that is kept already. */
export function Intake() {
  const [starting, setStarting] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const draft = intake.value;
  const machines = machineLines();
  const line = machines.find((one) => one.id === draft.machine) ?? machines[0];
  const id = line?.id;
  const description = id === undefined ? null : machineNamed(id);

  const describe = (): void => {
    setTrouble(null);
    if (id === undefined) return;
    machineOf(id).catch((thrown: unknown) => setTrouble(troubleOf(thrown)));
  };
  useEffect(describe, [id]);

  const start = (made: JobFile): void => {
    setTrouble(null);
    void begin(made).then((found) => {
      setTrouble(found);
      if (found === null) fillIn(EMPTY_INTAKE);
    });
  };
  const startOn = (machine: MachineFile): void => {
    const particulars = particularsFrom(intake.peek(), machine);
    if (typeof particulars === "string") {
      setTrouble(ownTrouble(particulars));
      return;
    }
    const { kit, tried, told } = intake.peek();
    const steps: StepRecord[] = tried ? [{ do: "attempt", outcome: tried }] : [];
    const answers = Object.entries(answered(told, asked(machine)) ?? {});
    steps.push(...answers.map(([check, result]): StepRecord => ({ do: "check", check, result })));
    start({ machine: machine.id, kit: [...(kit ?? commonKit(machine.tools))], ...particulars, steps });
  };
  const submit = (event: Event): void => {
    event.preventDefault();
    if (id === undefined || starting) return;
    // Its description may still be on the way.
    setTrouble(null);
    setStarting(true);
    machineOf(id)
      .then(startOn, (thrown: unknown) => setTrouble(troubleOf(thrown)))
      .finally(() => setStarting(false));
  };
  const demo = (): void => {
    engine.call("parse_job", demoJob).then(start, (thrown: unknown) => setTrouble(troubleOf(thrown)));
  };

  return (
    <main class="intake">
      <ShelfList />
      <h1 tabIndex={-1}>{words.intake.title}</h1>
      <p class="lead">{words.intake.lead}</p>
      <div class="demo">
        <button type="button" class="steel" disabled={pending.value || drawnAhead} onClick={demo}>
          {words.intake.demo}
        </button>
        <span class="quiet">{words.intake.demoHint}</span>
      </div>
      <JobFileField />
      <Prefs />
      <form onSubmit={submit} noValidate autocomplete="off">
        <Tag>
          <MachineChoice value={id} />
          <TriedChoice />
          {description && (
            <>
              <QuestionList
                title={words.intake.told}
                hint={words.intake.toldHint}
                questions={asked(description)}
                answers={draft.told}
                onChange={(told) => fillIn({ ...draft, told })}
              />
              <Particulars machine={description} draft={draft} onChange={fillIn} />
            </>
          )}
        </Tag>
        <div class="intake-tools">
          {line && (
            <ToolBoard tools={line.tools} kit={draft.kit} onChange={(kit) => fillIn({ ...draft, kit })} />
          )}
          {trouble && (
            <TroubleNote trouble={trouble}>
              {description === null && (
                <button type="button" class="act" onClick={describe}>
                  {words.trouble.again}
                </button>
              )}
            </TroubleNote>
          )}
          <button type="submit" class="act act-large" disabled={drawnAhead || starting || pending.value}>
            {words.intake.start}
          </button>
        </div>
      </form>
      {id !== undefined && <ExerciseStart machine={id} />}
    </main>
  );
}

/** The questions for the owner, answered before anything is touched. */
const asked = (machine: MachineFile): Question[] =>
  machine.checks
    .filter((check) => check.kind === "asked")
    .map(({ id, name, how, results }) => ({ id, name, hint: how, choices: results }));

function MachineChoice({ value }: { readonly value: string | undefined }) {
  return (
    <fieldset class="machine-choice">
      <legend>{words.intake.machine}</legend>
      {machineLines().map(({ id, name, about }) => (
        <label key={id} class="machine">
          <input
            type="radio"
            name="machine"
            value={id}
            checked={id === value}
            onChange={() => fillIn({ ...intake.peek(), machine: id, kit: null })}
          />
          <span class="machine-name">{name}</span>
          {id === value && <small>{about}</small>}
        </label>
      ))}
    </fieldset>
  );
}

/** Outcomes of the attempt before the job; most machines have been tried before they come in. */
const TRIED: readonly Outcome[] = ["nothing", "tries", "dies"];

function TriedChoice() {
  return (
    <StampChoice
      legend={words.intake.tried}
      columns={2}
      options={[
        { value: null, name: words.intake.notTried },
        ...TRIED.map((value) => ({ value, name: words.outcomes[value] })),
      ]}
      value={intake.value.tried ?? null}
      onChange={(tried) => fillIn({ ...intake.peek(), tried })}
    />
  );
}

import { useRef, useState } from "preact/hooks";
import { knownByDefault, recordLine, recordText, usuallyKnown } from "../catalogue.ts";
import type { Abnormal, Assessment, MachineFile, StepRecord } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import { redo, undo } from "../store/changes.ts";
import { bench, coming, job, storyTold } from "../store/store.ts";
import { words } from "../words.ts";
import { FoundEdit } from "./found-edit.tsx";

interface Props {
  readonly machine: MachineFile | null;
  readonly answer: Assessment | null;
}

/** Everything done so far, in order; every line can be corrected or taken out. */
export function FoundList({ machine, answer }: Props) {
  const [editing, setEditing] = useState<number | null>(null);
  const steps = stepsOf(job.value);
  const next = coming.value;
  return (
    <section class="found" id="found" tabIndex={-1} aria-labelledby="found-title" data-testid="findings">
      <div class="found-top">
        <h2 id="found-title">{words.found.title}</h2>
        <UndoRedo />
      </div>
      {steps.length === 0 && !next && <p class="quiet">{words.found.none}</p>}
      {storyTold.value && <p class="quiet">{words.found.allTold}</p>}
      <ol class="sheet">
        {steps.map((step, i) => (
          <FoundLine
            key={i}
            machine={machine}
            step={step}
            place={i}
            abnormal={answer?.abnormal.find((a) => a.step === i)}
            outweighed={answer?.outweighed.includes(i) ?? false}
            editing={editing === i}
            onEdit={(open) => setEditing(open ? i : null)}
          />
        ))}
        {next && <Coming machine={machine} step={next} />}
      </ol>
    </section>
  );
}

/** The line of a recorded step whose answer is still being computed. */
function Coming({ machine, step }: Pick<LineProps, "machine" | "step">) {
  const { did, got } = recordText(machine, step);
  return (
    <li class="sheet-line coming">
      <p>
        <span class="did">{did}</span> <span class="got">{got}</span>{" "}
        <span class="quiet">{words.working}</span>
      </p>
    </li>
  );
}

/** The undo and redo buttons. */
export function UndoRedo() {
  const back = bench.value?.past.at(-1);
  const forth = bench.value?.future.at(-1);
  return (
    <div class="undo-redo">
      <button
        type="button"
        class="steel"
        disabled={!back}
        title={back && words.found.undoWhat(back.what)}
        onClick={() => void undo()}
      >
        {words.found.undo}
      </button>
      <button
        type="button"
        class="steel"
        disabled={!forth}
        title={forth && words.found.redoWhat(forth.what)}
        onClick={() => void redo()}
      >
        {words.found.redo}
      </button>
    </div>
  );
}

interface LineProps {
  readonly machine: MachineFile | null;
  readonly step: StepRecord;
  readonly place: number;
  readonly abnormal: Abnormal | undefined;
  /** Whether the finding does not count, because an earlier one is known better. */
  readonly outweighed: boolean;
  readonly editing: boolean;
  readonly onEdit: (open: boolean) => void;
}

/** How a step is known, where that does not go without saying. */
function unusualKnown(machine: MachineFile | null, step: StepRecord): string | undefined {
  if (step.known === undefined) return undefined;
  const kind = step.do === "check" ? machine?.checks.find((c) => c.id === step.check)?.kind : undefined;
  const usual = kind === undefined ? "seen" : usuallyKnown(kind);
  return knownByDefault(storyTold.value, usual) === step.known ? undefined : words.known[step.known];
}

function FoundLine({ machine, step, place, abnormal, outweighed, editing, onEdit }: LineProps) {
  const { did, got } = recordText(machine, step);
  const known = unusualKnown(machine, step);
  const opener = useRef<HTMLButtonElement>(null);
  // The focus was in the form; it returns to the button that opened the form.
  const close = (): void => {
    onEdit(false);
    opener.current?.focus();
  };
  return (
    <li class="sheet-line">
      <div class="sheet-text">
        <p>
          <span class="did">{did}</span> <span class="got">{got}</span>
          {known && <span class="how-known">{known.toLocaleLowerCase()}</span>}
        </p>
        {outweighed && <p class="quiet">{words.found.outweighed}</p>}
        {abnormal && (
          <ul class="verdicts">
            {abnormal.speaks_for.map((v) => (
              <li key={`${v.part}/${v.condition}`} data-verdict={v.kind}>
                {words.found.speaks(v.name, words.verdicts[v.kind])}
              </li>
            ))}
          </ul>
        )}
      </div>
      <button
        type="button"
        class="plain"
        ref={opener}
        aria-expanded={editing}
        aria-label={words.found.changeWhat(`${did}: ${got}`)}
        onClick={() => onEdit(!editing)}
      >
        {words.found.change}
      </button>
      {editing && (
        <FoundEdit
          // Undo may put another record here; the new key makes the form start from that record.
          key={`${recordLine(machine, step)} ${step.do === "check" ? step.known : ""}`}
          machine={machine}
          step={step}
          place={place}
          onClose={close}
        />
      )}
    </li>
  );
}

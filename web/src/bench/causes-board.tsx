import { useState } from "preact/hooks";
import type { Assessment, CauseOdds, MachineFile } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import { job } from "../store/store.ts";
import { words } from "../words.ts";
import { CauseLine, type CauseView } from "./cause-line.tsx";
import { ReadingNotes } from "./reading-notes.tsx";

const FEW = 6;

interface Props {
  readonly machine: MachineFile;
  readonly answer: Assessment;
}

/** The causes on a slate, likeliest first. */
export function CausesBoard({ machine, answer }: Props) {
  const [all, setAll] = useState(false);
  const after = answer.status === "running";
  const compare = !after && stepsOf(job.value).length > 0;
  const view = (cause: CauseOdds): CauseView => ({
    cause,
    reason: after ? cause.p_was_cause : cause.p_cause,
    present: after ? cause.p_was_present : cause.p_present,
    before: compare ? cause.p_cause_before : undefined,
  });
  const views = answer.causes.map(view);

  return (
    <section class="board" id="odds" tabIndex={-1} aria-labelledby="odds-title" data-testid="causes">
      <h2 id="odds-title">{after ? words.causes.titleAfter : words.causes.title}</h2>
      <p class="legend" aria-hidden="true">
        <span>
          <i class="key key-reason" /> {words.causes.reason}
        </span>
        <span>
          <i class="key key-there" /> {words.causes.there}
        </span>
        {compare && (
          <span>
            <i class="key key-before" /> {words.causes.before}
          </span>
        )}
      </p>
      {all ? (
        machine.subsystems.map(({ id, name }) => (
          <Group key={id} name={name} views={views.filter((v) => v.cause.subsystem === id)} />
        ))
      ) : (
        <Lines views={views.slice(0, FEW)} />
      )}
      {!after && answer.p_no_cause >= 0.005 && (
        <p class="no-cause">{words.causes.nothingStops(answer.p_no_cause)}</p>
      )}
      <ReadingNotes readings={answer.readings} />
      {views.length > FEW && (
        <button type="button" class="chalk" aria-expanded={all} onClick={() => setAll(!all)}>
          {all ? words.causes.showFew : words.causes.showAll(views.length)}
        </button>
      )}
    </section>
  );
}

interface LinesProps {
  readonly views: readonly CauseView[];
}

function Lines({ views }: LinesProps) {
  return (
    <ol class="causes">
      {views.map((v) => (
        <CauseLine key={`${v.cause.part}/${v.cause.condition}`} view={v} />
      ))}
    </ol>
  );
}

function Group({ name, views }: LinesProps & { readonly name: string }) {
  if (views.length === 0) return null;
  return (
    <div class="cause-group">
      <h3>{name}</h3>
      <Lines views={views} />
    </div>
  );
}

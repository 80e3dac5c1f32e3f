import { useState } from "preact/hooks";
import { engine } from "../engine-client.ts";
import { stepsOf } from "../job-file.ts";
import { nameOf } from "../machines.ts";
import { begin } from "../store/changes.ts";
import { openKept, removeKept } from "../store/kept.ts";
import type { KeptJob } from "../store/kept-job.ts";
import { dispatch, jobId, shelf } from "../store/store.ts";
import { drawnAhead } from "../ui/drawn-ahead.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { words } from "../words.ts";

/** The jobs kept, the one on the bench first. */
export function ShelfList() {
  const onBench = shelf.value.find((kept) => kept.id === jobId.value);
  const others = shelf.value.filter((kept) => kept !== onBench);
  return (
    <>
      {onBench && (
        <section class="carry-on">
          <button
            type="button"
            class="act act-large"
            onClick={() => dispatch({ type: "show", screen: "bench" })}
          >
            {words.intake.carryOn}
          </button>
          <p>
            {words.intake.carryOnWith(nameOf(onBench.job.machine), stepsOf(onBench.job).length)}
            <br />
            <span class="quiet">{words.intake.replaces}</span>
          </p>
          <Remove kept={onBench} />
        </section>
      )}
      {others.length > 0 && (
        <section class="shelf" aria-labelledby="shelf-title" data-testid="shelf">
          <h2 id="shelf-title">{words.shelf.title}</h2>
          <ul class="pegs">
            {others.map((kept) => (
              <ShelfLine key={kept.id} kept={kept} />
            ))}
          </ul>
        </section>
      )}
    </>
  );
}

const about = ({ job, changed, seed }: KeptJob): string =>
  [words.shelf.line(stepsOf(job).length, changed), seed === null ? "" : `${words.shelf.exercise} ${seed}`]
    .filter(Boolean)
    .join(", ");

function ShelfLine({ kept }: { readonly kept: KeptJob }) {
  const name = nameOf(kept.job.machine);
  return (
    <li class="shelf-line">
      <p>
        <span class="peg-name">{name}</span> <span class="peg-fact">{about(kept)}</span>
      </p>
      <div class="row">
        <button
          type="button"
          class="steel"
          aria-label={words.shelf.openWhat(`${name}, ${about(kept)}`)}
          onClick={() => void openKept(kept.id)}
        >
          {words.shelf.open}
        </button>
        <Remove kept={kept} />
      </div>
    </li>
  );
}

function Remove({ kept }: { readonly kept: KeptJob }) {
  return (
    <button
      type="button"
      class="plain"
      aria-label={words.shelf.removeWhat(`${nameOf(kept.job.machine)}, ${about(kept)}`)}
      onClick={() => void removeKept(kept)}
    >
      {words.shelf.remove}
    </button>
  );
}

/** Largest size of a job file in bytes; a larger file is not read. */
const LARGEST_FILE = 1 << 20;

/** The field that opens a job from a file. */
export function JobFileField() {
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const open = async (file: File | undefined): Promise<void> => {
    setTrouble(null);
    if (file === undefined) return;
    try {
      const text = file.size > LARGEST_FILE ? "" : await file.text();
      setTrouble(await begin(await engine.call("parse_job", text)));
    } catch (thrown) {
      setTrouble(troubleOf(thrown));
    }
  };
  return (
    <div class="job-file" inert={drawnAhead}>
      <label class="file steel">
        <input
          type="file"
          accept=".json,application/json"
          onChange={(event) => {
            const field = event.currentTarget;
            void open(field.files?.[0]).finally(() => (field.value = ""));
          }}
        />
        <span>{words.shelf.file}</span>
      </label>
      {trouble && <TroubleNote trouble={trouble} title={words.shelf.fileBad} />}
    </div>
  );
}

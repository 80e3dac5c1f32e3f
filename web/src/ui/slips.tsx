import { useEffect, useRef } from "preact/hooks";
import { pending, stepsOf, undoTrouble } from "../store/answers.ts";
import { job } from "../store/bench.ts";
import { keepingTrouble, putBack, removed } from "../store/kept.ts";
import {
  arrived,
  keepMine,
  linkTrouble,
  openedWith,
  openLinked,
  type Arrived as ArrivedJob,
} from "../store/link.ts";
import { nameOf } from "../machines.ts";
import { takeUpdate, updateReady } from "../store/offline.ts";
import { ownTrouble } from "../trouble.ts";
import { ruleText } from "../trouble-words.ts";
import { words } from "../words.ts";
import { toHead } from "./follow.ts";
import { TroubleNote } from "./trouble-note.tsx";

/** What concerns the page as a whole. */
export function Slips() {
  return (
    <div class="slips">
      {keepingTrouble.value && (
        <TroubleNote trouble={ownTrouble(keepingTrouble.value)}>
          <Dismiss onClick={() => (keepingTrouble.value = null)} />
        </TroubleNote>
      )}
      {undoTrouble.value && (
        <TroubleNote trouble={undoTrouble.value}>
          <Dismiss onClick={() => (undoTrouble.value = null)} />
        </TroubleNote>
      )}
      {linkTrouble.value && (
        <TroubleNote
          trouble={linkTrouble.value}
          title={words.link.broken}
          {...(job.value && { hint: words.link.kept })}
        >
          <Dismiss onClick={keepMine} />
        </TroubleNote>
      )}
      <Arrived />
      {openedWith.value && (
        <section class="slip" aria-label={words.link.arrived}>
          <About linked={openedWith.value} />
          <div class="row">
            <Dismiss onClick={() => (openedWith.value = null)} />
          </div>
        </section>
      )}
      <Removed />
      <Update />
    </div>
  );
}

/** What is to be said of a linked job beside that it is there. Notes are text and nothing else. */
function About({ linked }: { readonly linked: ArrivedJob }) {
  const { note, fit } = linked;
  return (
    <>
      {note !== undefined && (
        <>
          <p class="slip-title">{words.link.note}</p>
          <blockquote class="note">{note}</blockquote>
        </>
      )}
      {fit.same === false && <p>{words.link.changed}</p>}
      {fit.unknown_steps.length > 0 && (
        <>
          <p>{words.link.unknown_steps}</p>
          <ul class="closing-list">
            {fit.unknown_steps.map(({ step, rule }) => (
              <li key={step}>{words.link.stranger(step + 1, ruleText(rule, null))}</li>
            ))}
          </ul>
        </>
      )}
    </>
  );
}

/** A job that was thrown away can be had back. */
function Removed() {
  const gone = removed.value;
  if (gone === null) return null;
  return (
    <section class="slip" role="status">
      <p>{words.shelf.removed(nameOf(gone.job.machine))}</p>
      <div class="row">
        <button type="button" class="steel" onClick={() => void putBack(gone)}>
          {words.shelf.putBack}
        </button>
        <Dismiss onClick={() => (removed.value = null)} />
      </div>
    </section>
  );
}

/** A newer version of the page waits to be taken. */
function Update() {
  if (!updateReady.value) return null;
  return (
    <section class="slip" role="status">
      <p>{words.update.ready}</p>
      <div class="row">
        <button type="button" class="act" onClick={takeUpdate}>
          {words.update.take}
        </button>
        <button type="button" class="steel" onClick={() => (updateReady.value = false)}>
          {words.update.later}
        </button>
      </div>
    </section>
  );
}

function Dismiss({ onClick }: { readonly onClick: () => void }) {
  const dismiss = (): void => {
    onClick();
    toHead();
  };
  return (
    <button type="button" class="steel" onClick={dismiss}>
      {words.trouble.dismiss}
    </button>
  );
}

function keepAndGoOn(): void {
  keepMine();
  toHead();
}

/** A linked job and a job on the bench: which one? */
function Arrived() {
  const linked = arrived.value;
  const slip = useRef<HTMLElement>(null);
  useEffect(() => {
    if (linked) slip.current?.focus();
  }, [linked]);
  if (linked === null) return null;
  return (
    <section class="slip" aria-labelledby="arrived-title" tabIndex={-1} ref={slip}>
      <p class="slip-title" id="arrived-title">
        {words.link.arrived}
      </p>
      <p>{words.link.about(stepsOf(linked.job).length)}</p>
      <About linked={linked} />
      <p>{words.link.question(stepsOf(job.value).length)}</p>
      <div class="row">
        <button
          type="button"
          class="act"
          disabled={pending.value}
          onClick={() => void openLinked(linked)}
        >
          {words.link.open}
        </button>
        <button type="button" class="steel" onClick={keepAndGoOn}>
          {words.link.keep}
        </button>
      </div>
    </section>
  );
}

import { useEffect, useRef } from "preact/hooks";
import { stepsOf } from "../job-file.ts";
import { nameOf } from "../machines.ts";
import { putBack } from "../store/kept.ts";
import type { KeptJob } from "../store/kept-job.ts";
import { keepMine, openLinked } from "../store/link.ts";
import { takeUpdate } from "../store/offline.ts";
import type { LinkedJob, Notices as Told } from "../store/state.ts";
import { dispatch, job, notices, pending } from "../store/store.ts";
import { ownTrouble } from "../trouble.ts";
import { ruleText } from "../trouble-words.ts";
import { words } from "../words.ts";
import { toHead } from "../ui/follow.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";

/** Returns the handler that dismisses a notice. */
const dismiss = (notice: Exclude<keyof Told, "update">) => (): void =>
  dispatch({ type: "notice", notice, value: null });

/** The notices about the page as a whole. */
export function Notices() {
  const { keeping, undo, link, arrived, opened, removed, update } = notices.value;
  return (
    <div class="notices">
      {keeping !== null && (
        <TroubleNote trouble={ownTrouble(keeping)}>
          <Dismiss onClick={dismiss("keeping")} />
        </TroubleNote>
      )}
      {undo && (
        <TroubleNote trouble={undo}>
          <Dismiss onClick={dismiss("undo")} />
        </TroubleNote>
      )}
      {link && (
        <TroubleNote trouble={link} title={words.link.broken} {...(job.value && { hint: words.link.kept })}>
          <Dismiss onClick={keepMine} />
        </TroubleNote>
      )}
      {arrived && <Arrived linked={arrived} />}
      {opened && (
        <section class="notice" aria-label={words.link.arrived}>
          <About linked={opened} />
          <div class="row">
            <Dismiss onClick={dismiss("opened")} />
          </div>
        </section>
      )}
      {removed && <Removed gone={removed} />}
      {update && <Update />}
    </div>
  );
}

/** The details of a linked job: its note, which is shown as plain text, and how it fits this page. */
function About({ linked }: { readonly linked: LinkedJob }) {
  const { note, fit } = linked;
  return (
    <>
      {note !== undefined && (
        <>
          <p class="notice-title">{words.link.note}</p>
          <blockquote class="note">{note}</blockquote>
        </>
      )}
      {fit.same === false && <p>{words.link.changed}</p>}
      {fit.unknown_steps.length > 0 && (
        <>
          <p>{words.link.unknownSteps}</p>
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

/** The notice about a deleted job, with a button that restores it. */
function Removed({ gone }: { readonly gone: KeptJob }) {
  return (
    <section class="notice" role="status">
      <p>{words.shelf.removed(nameOf(gone.job.machine))}</p>
      <div class="row">
        <button type="button" class="steel" onClick={() => void putBack(gone)}>
          {words.shelf.putBack}
        </button>
        <Dismiss onClick={dismiss("removed")} />
      </div>
    </section>
  );
}

/** The notice that a newer version of the page is ready. */
function Update() {
  return (
    <section class="notice" role="status">
      <p>{words.update.ready}</p>
      <div class="row">
        <button type="button" class="act" onClick={takeUpdate}>
          {words.update.take}
        </button>
        <button
          type="button"
          class="steel"
          onClick={() => dispatch({ type: "notice", notice: "update", value: false })}
        >
          {words.update.later}
        </button>
      </div>
    </section>
  );
}

function Dismiss({ onClick }: { readonly onClick: () => void }) {
  const go = (): void => {
    onClick();
    toHead();
  };
  return (
    <button type="button" class="steel" onClick={go}>
      {words.trouble.dismiss}
    </button>
  );
}

function keepAndGoOn(): void {
  keepMine();
  toHead();
}

/** The question whether to open a linked job or to keep the one on the bench. */
function Arrived({ linked }: { readonly linked: LinkedJob }) {
  const notice = useRef<HTMLElement>(null);
  useEffect(() => notice.current?.focus(), [linked]);
  return (
    <section class="notice" aria-labelledby="arrived-title" tabIndex={-1} ref={notice}>
      <p class="notice-title" id="arrived-title">
        {words.link.arrived}
      </p>
      <p>{words.link.about(stepsOf(linked.job).length)}</p>
      <About linked={linked} />
      <p>{words.link.question(stepsOf(job.value).length)}</p>
      <div class="row">
        <button type="button" class="act" disabled={pending.value} onClick={() => void openLinked(linked)}>
          {words.link.open}
        </button>
        <button type="button" class="steel" onClick={keepAndGoOn}>
          {words.link.keep}
        </button>
      </div>
    </section>
  );
}

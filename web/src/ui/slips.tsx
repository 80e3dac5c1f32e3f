import { useEffect, useRef } from "preact/hooks";
import { pending, stepsOf, undoTrouble } from "../store/answers.ts";
import { job } from "../store/bench.ts";
import { keepingTrouble } from "../store/kept.ts";
import { arrived, keepMine, linkTrouble, openLinked } from "../store/link.ts";
import { words } from "../words.ts";
import { toHead } from "./follow.ts";
import { TroubleNote } from "./trouble-note.tsx";

/** What concerns the page as a whole. */
export function Slips() {
  return (
    <div class="slips">
      {keepingTrouble.value && (
        <TroubleNote trouble={{ kind: "page", message: keepingTrouble.value }}>
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
    </div>
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
      <p>{words.link.about(stepsOf(linked).length)}</p>
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

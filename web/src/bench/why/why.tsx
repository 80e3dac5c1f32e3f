import { useEffect, useRef } from "preact/hooks";
import type { JobFile, MachineFile } from "../../engine/halfsplit_wasm.js";
import { dispatch } from "../../store/store.ts";
import { scrollTo } from "../../ui/follow.ts";
import { words } from "../../words.ts";
import { Reasons } from "./reasons.tsx";

interface Props {
  readonly machine: MachineFile;
  readonly present: JobFile;
  /** The cause to explain, as part/condition; the most likely one if it is not among the causes. */
  readonly cause: string;
}

function close(): void {
  dispatch({ type: "ask-reasons", cause: null });
  document.querySelector<HTMLElement>("#odds")?.focus();
}

/** The board on the bench that gives the reasons for the odds and the advice. */
export function Why({ machine, present, cause }: Props) {
  const head = useRef<HTMLHeadingElement>(null);
  useEffect(() => {
    scrollTo(head.current);
    head.current?.focus({ preventScroll: true });
  }, [cause]);
  return (
    <section class="board reasons" aria-labelledby="reasons-title" data-testid="why">
      <h2 id="reasons-title" tabIndex={-1} ref={head}>
        {words.reasons.title}
      </h2>
      <Reasons machine={machine} present={present} cause={cause} />
      <button type="button" class="chalk" onClick={close}>
        {words.reasons.close}
      </button>
    </section>
  );
}

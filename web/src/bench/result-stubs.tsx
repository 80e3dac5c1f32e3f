import { useEffect, useId, useState } from "preact/hooks";
import type { StepResult } from "../catalogue.ts";
import type { ResultOutlook } from "../engine/halfsplit_wasm.js";
import { single } from "../ui/single.ts";
import { words } from "../words.ts";

interface Props {
  readonly title: string;
  readonly results: readonly StepResult[];
  readonly outlooks: readonly ResultOutlook[];
  readonly disabled: boolean;
  readonly onChoose: (result: string) => void;
}

/** The outlook of a result in words: its chance and the most likely cause after it. */
export function outlookText({ p, id, leader }: ResultOutlook): string {
  const then = leader
    ? words.step.thenLikeliest(leader.name, leader.p_cause)
    : id === "runs"
      ? words.step.thenRuns
      : "";
  return [words.odds(p), then].filter(Boolean).join("; ");
}

const typing = (target: EventTarget | null): boolean =>
  target instanceof HTMLElement && target.closest("input, select, textarea") !== null;

/** The results as stubs along the foot of the tag; a tap on one records it. */
export function ResultStubs({ title, results, outlooks, disabled, onChoose }: Props) {
  const id = useId();
  const [taken, setTaken] = useState<string | null>(null);
  const choose = (result: string): void => {
    setTaken(result);
    onChoose(result);
  };

  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => {
      if (event.ctrlKey || event.metaKey || event.altKey || event.repeat) return;
      if (disabled || typing(event.target) || !/^[1-9]$/.test(event.key)) return;
      const result = results[Number(event.key) - 1];
      if (result === undefined) return;
      event.preventDefault();
      choose(result.id);
    };
    document.addEventListener("keydown", onKey);
    return () => document.removeEventListener("keydown", onKey);
  });

  return (
    <div class="stubs" role="group" aria-labelledby={`${id}-title`}>
      <p class="stubs-title" id={`${id}-title`}>
        {title}
      </p>
      {results.map((result, i) => {
        const outlook = outlooks.find((o) => o.id === result.id);
        return (
          <div key={result.id} class={disabled && taken === result.id ? "stub taken" : "stub"}>
            {i < 9 && (
              <kbd class="stub-key" aria-hidden="true">
                {i + 1}
              </kbd>
            )}
            <button
              type="button"
              class="stub-name"
              disabled={disabled}
              aria-describedby={`${id}-${i}`}
              onClick={single(() => choose(result.id))}
            >
              {result.name}
            </button>
            {outlook && <span class="stub-p">{words.percent(outlook.p)}</span>}
            <p class="stub-then" id={`${id}-${i}`}>
              {[result.hint, outlook && outlookText(outlook)].filter(Boolean).join("; ")}
            </p>
          </div>
        );
      })}
    </div>
  );
}

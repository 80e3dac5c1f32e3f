import type { CauseOdds } from "../engine/halfsplit_wasm.js";
import { moved } from "../odds.ts";
import { dispatch } from "../store/store.ts";
import { words } from "../words.ts";

/** A cause as the board shows it: its present odds, or, once the engine runs, the odds on arrival. */
export interface CauseView {
  readonly cause: CauseOdds;
  readonly reason: number;
  readonly present: number;
  /** `reason` before the last step; undefined where there is nothing to compare with. */
  readonly before: number | undefined;
}

/** Chances below this are read out by a screen reader and not drawn. */
const WORTH_SHOWING = 0.05;

interface Props {
  readonly view: CauseView;
}

/** One cause: name, chance in words and percent, and the chalk stroke for it. */
export function CauseLine({ view: { cause, reason, present, before } }: Props) {
  const also = Math.max(0, present - reason);
  const id = `${cause.part}/${cause.condition}`;
  const shift = before !== undefined && moved(before, reason);
  return (
    <li class="cause" data-cause={id}>
      <p class="cause-name">
        {cause.name}
        {cause.repaired && <span class="cause-repaired"> {words.causes.repaired}</span>}
      </p>
      <p class="cause-percent">
        <b>{words.percent(reason)}</b>
      </p>
      <div class="stroke" aria-hidden="true">
        <span class="stroke-reason" style={{ inlineSize: `${reason * 100}%` }} />
        <span class="stroke-there" style={{ inlineSize: `${also * 100}%` }} />
        {shift && <span class="stroke-before" style={{ insetInlineStart: `${before * 100}%` }} />}
      </div>
      <p class="cause-more">
        <span class="cause-odds">{words.odds(reason)}</span>
        {shift && <span class={reason > before ? "up" : "down"}>{words.causes.wasShort(before)}</span>}
        <span class={also >= WORTH_SHOWING ? undefined : "unseen"}>{words.causes.alsoThere(also)}</span>
        <button
          type="button"
          class="plain cause-why"
          onClick={() => dispatch({ type: "ask-reasons", cause: id })}
        >
          {words.reasons.open}
          <span class="unseen"> {cause.name}</span>
        </button>
      </p>
    </li>
  );
}

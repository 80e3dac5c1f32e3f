import { stepsOf } from "../job-file.ts";
import { undo } from "../store/changes.ts";
import { bench, job } from "../store/store.ts";
import { scrollTo } from "../ui/follow.ts";
import { words } from "../words.ts";

/** Goes to a part of the page and puts the reader's place there; the address is for links. */
function jump(id: string): void {
  const target = document.querySelector<HTMLElement>(`#${id}`) ?? document.querySelector("main");
  scrollTo(target);
  target?.focus({ preventScroll: true });
}

/** Within reach of the thumb on a phone. */
export function JumpBar() {
  const count = stepsOf(job.value).length;
  return (
    <nav class="jump-bar" aria-label={words.jump.nav}>
      <button type="button" class="steel" disabled={!bench.value?.past.length} onClick={() => void undo()}>
        {words.found.undo}
      </button>
      <button type="button" class="steel" onClick={() => jump("result")}>
        {words.jump.result}
      </button>
      <button type="button" class="steel" onClick={() => jump("other")}>
        {words.jump.other}
      </button>
      <button type="button" class="steel" onClick={() => jump("odds")}>
        {words.jump.odds}
      </button>
      <button type="button" class="steel" onClick={() => jump("found")}>
        {words.jump.found} <b>{count}</b>
      </button>
    </nav>
  );
}

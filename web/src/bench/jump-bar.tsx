import { stepsOf } from "../job-file.ts";
import { undo } from "../store/changes.ts";
import { bench, job } from "../store/store.ts";
import { scrollTo } from "../ui/follow.ts";
import { words } from "../words.ts";

/** Scrolls to a part of the page and moves the focus there. The address stays free for links to jobs. */
function jump(id: string): void {
  const target = document.querySelector<HTMLElement>(`#${id}`) ?? document.querySelector("main");
  scrollTo(target);
  target?.focus({ preventScroll: true });
}

/** The bar at the foot of a phone's screen, with undo and jumps to the parts of the bench. */
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

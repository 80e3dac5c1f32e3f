/** Where the reader is, when what he was reading gives way to something else. */
import { useEffect, useRef } from "preact/hooks";

/** Scrolls to an element, gently unless the reader asked for calm. */
export function scrollTo(element: Element | null | undefined): void {
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  element?.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
}

function arrive(): boolean {
  const head = document.querySelector<HTMLElement>("main :is(h1, .step-name)");
  head?.focus();
  return head !== null;
}

/** Waits for the head of a screen that is still being fetched or worked out. */
let awaiting: MutationObserver | undefined;

/** Puts the reader's place at the head of the page, as soon as there is one. */
export function toHead(): void {
  awaiting?.disconnect();
  if (arrive()) return;
  awaiting = new MutationObserver((_, observer) => {
    // Whoever has gone elsewhere meanwhile stays there.
    if (document.activeElement !== document.body || arrive()) observer.disconnect();
  });
  awaiting.observe(document.body, { childList: true, subtree: true });
}

/** Takes the reader to the head of the tag. */
export function toStep(): void {
  const heading = document.querySelector<HTMLElement>(".to-do .step-name");
  if (heading === null) return;
  heading.focus({ preventScroll: true });
  const { top } = heading.getBoundingClientRect();
  if (top < 0 || top > window.innerHeight * 0.6) scrollTo(heading.closest(".to-do"));
}

/**
 * Takes the reader to the head of the tag whenever `place` changes. Undo, redo and corrections are
 * often done in a row: they keep him where he is.
 */
export function useFollow(place: string): void {
  const before = useRef(place);
  useEffect(() => {
    if (before.current === place) return;
    before.current = place;
    if (document.activeElement?.closest(".known, .jump-bar, .plate-rail, .notices")) return;
    toStep();
  }, [place]);
}

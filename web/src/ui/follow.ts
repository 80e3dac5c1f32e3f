/** Moves focus and scroll position when the content of the page changes. */
import { useEffect, useRef } from "preact/hooks";

/** Scrolls to an element, smoothly unless the user prefers reduced motion. */
export function scrollTo(element: Element | null | undefined): void {
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)").matches;
  element?.scrollIntoView({ block: "start", behavior: calm ? "auto" : "smooth" });
}

function arrive(): boolean {
  const head = document.querySelector<HTMLElement>("main :is(h1, .step-name)");
  head?.focus();
  return head !== null;
}

/** Waits for the heading of a screen that is still being loaded or computed. */
let awaiting: MutationObserver | undefined;

/** Moves the focus to the heading of the page as soon as there is one. */
export function toHead(): void {
  awaiting?.disconnect();
  if (arrive()) return;
  awaiting = new MutationObserver((_, observer) => {
    // If the user has moved the focus meanwhile, it stays there.
    if (document.activeElement !== document.body || arrive()) observer.disconnect();
  });
  awaiting.observe(document.body, { childList: true, subtree: true });
}

/** Moves the focus to the heading of the tag, and scrolls to it if needed. */
export function toStep(): void {
  const heading = document.querySelector<HTMLElement>(".to-do .step-name");
  if (heading === null) return;
  heading.focus({ preventScroll: true });
  const { top } = heading.getBoundingClientRect();
  if (top < 0 || top > window.innerHeight * 0.6) scrollTo(heading.closest(".to-do"));
}

/**
 * Moves the focus to the heading of the tag whenever `place` changes. Undo, redo and corrections are
 * often done in a row, so they leave the focus where it is.
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

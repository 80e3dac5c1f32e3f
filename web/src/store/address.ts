/**
 * The address of the page and its entries in the browser's history. Every screen is an entry, so that back and
 * forward go from screen to screen. A fragment in the address is a link to a job.
 */
import type { JobFile } from "../engine/halfsplit_wasm.js";
import { SCREENS, type Screen } from "./state.ts";

/** The parts of a window that the address uses. */
export interface Browser {
  readonly history: Pick<History, "state" | "pushState" | "replaceState">;
  readonly location: Pick<Location, "hash" | "pathname" | "search">;
}

/** The beginnings of the fragments that link to a job and to an exercise. */
export const JOB = "#j=";
export const EXERCISE = "#e=";

const isLink = (hash: string): boolean => hash.startsWith(JOB) || hash.startsWith(EXERCISE);

/** The screen that an entry of the history stands for; null for an entry that a link has made. */
function screenOf(entry: unknown): Screen | null {
  const named = typeof entry === "object" && entry !== null && "screen" in entry ? entry.screen : null;
  return SCREENS.find((screen) => screen === named) ?? null;
}

/** The address as the screen and the linked job that it stands for. */
export class Address {
  readonly #browser: Browser;
  /** The screen of the present entry. */
  #screen: Screen | null = null;
  /** The job that the link in the address stands for, if it is the one on the bench. */
  #linked: JobFile | null = null;

  constructor(browser: Browser) {
    this.#browser = browser;
  }

  /** The link in the address, by its kind; null if there is none. */
  link(): { readonly kind: typeof JOB | typeof EXERCISE; readonly text: string } | null {
    const { hash } = this.#browser.location;
    if (!isLink(hash)) return null;
    const kind = hash.startsWith(JOB) ? JOB : EXERCISE;
    return { kind, text: hash.slice(kind.length) };
  }

  /** Adds an entry for the screen that is shown, unless the present entry is its own. */
  show(screen: Screen): void {
    if (screen === this.#screen) return;
    const first = this.#screen === null;
    this.#screen = screen;
    // The first screen has an entry already, perhaps with a link that is still to be read.
    if (first) this.#write("replaceState");
    // The entry of a link is replaced by that of the job it brought.
    else this.#write(this.#isUnread() ? "replaceState" : "pushState", this.#withoutLink());
  }

  /**
   * Handles going back or forward. Returns the screen of the entry; null for a new link, which is read
   * when the browser reports the change of the fragment.
   */
  travelled(entry: unknown, present: JobFile | null): Screen | null {
    const screen = screenOf(entry);
    if (screen === null) return null;
    this.#screen = screen;
    if (this.#linked === null || this.#linked !== present) this.clearLink();
    return screen;
  }

  /** Returns whether the entry is a new link. If so, the entry becomes one of the screen that is shown. */
  takeNewLink(): boolean {
    if (screenOf(this.#browser.history.state) !== null) return false;
    this.#linked = null;
    this.#write("replaceState");
    return true;
  }

  /** Marks the link in the address as a link to the job on the bench. */
  standFor(job: JobFile, link?: string): void {
    this.#linked = job;
    if (link !== undefined) this.#write("replaceState", link);
  }

  /** Removes the link from the address once the job differs from the linked one. */
  movedTo(present: JobFile | null): void {
    if (this.#linked !== null && this.#linked !== present) this.clearLink();
  }

  clearLink(): void {
    this.#linked = null;
    if (isLink(this.#browser.location.hash)) this.#write("replaceState", this.#withoutLink());
  }

  #isUnread(): boolean {
    return this.#linked === null && isLink(this.#browser.location.hash);
  }

  /** The address without its fragment. */
  #withoutLink(): string {
    const { pathname, search } = this.#browser.location;
    return pathname + search;
  }

  /** Writes an entry for the present screen; without a URL the address stays. */
  #write(how: "pushState" | "replaceState", url?: string): void {
    const entry = this.#screen === null ? null : { screen: this.#screen };
    this.#browser.history[how](entry, "", url);
  }
}

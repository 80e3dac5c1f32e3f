import assert from "node:assert/strict";
import { test } from "node:test";
import { Address, type Browser } from "./address.ts";
import type { Screen } from "./state.ts";
import { jobWith } from "./testing.ts";

interface Entry {
  readonly state: unknown;
  readonly url: string;
}

/** A test double of a window's history and address (HTML standard, section 7.4), without page loads. */
class Window implements Browser {
  entries: Entry[];
  at = 0;

  constructor(url: string) {
    this.entries = [{ state: null, url }];
  }

  get entry(): Entry {
    return this.entries[this.at] as Entry;
  }

  readonly location = this.#location();
  readonly history = this.#history();

  /** The reader follows a link to a fragment. */
  follow(hash: string): void {
    this.#push({ state: null, url: `/${hash}` });
  }

  /** The reader goes back or forward. */
  go(by: number): unknown {
    this.at += by;
    assert.ok(this.entry, "the page was left");
    return this.entry.state;
  }

  #push(entry: Entry): void {
    this.entries = [...this.entries.slice(0, this.at + 1), entry];
    this.at += 1;
  }

  #location(): Browser["location"] {
    const url = (): URL => new URL(this.entry.url, "http://here");
    return {
      get hash() {
        return url().hash;
      },
      get pathname() {
        return url().pathname;
      },
      get search() {
        return url().search;
      },
    };
  }

  #history(): Browser["history"] {
    const entry = (): Entry => this.entry;
    const put = (made: Entry): void => {
      this.entries = this.entries.with(this.at, made);
    };
    return {
      get state() {
        return entry().state;
      },
      pushState: (state, _, url) => this.#push({ state, url: String(url ?? entry().url) }),
      replaceState: (state, _, url) => put({ state, url: String(url ?? entry().url) }),
    };
  }
}

const LINK = "#j=2.abc";
const screens = (window: Window): unknown[] =>
  window.entries.map(({ state }) => (state as { screen: Screen } | null)?.screen ?? null);
const urls = (window: Window): string[] => window.entries.map(({ url }) => url);

/** A page that has shown these screens. */
function page(url: string, ...shown: readonly Screen[]): { window: Window; address: Address } {
  const window = new Window(url);
  const address = new Address(window);
  for (const screen of shown) address.show(screen);
  return { window, address };
}

test("each screen is an entry; the first one takes the entry that is there", () => {
  const { window } = page("/", "intake", "bench", "bench", "class", "bench");
  assert.deepEqual(screens(window), ["intake", "bench", "class", "bench"]);
  assert.deepEqual(urls(window), ["/", "/", "/", "/"]);
});

test("back and forward give the screens, and showing one of them makes no new entry", () => {
  const { window, address } = page("/", "intake", "bench", "sheet");
  for (const [by, screen] of [
    [-1, "bench"],
    [-1, "intake"],
    [2, "sheet"],
  ] as const) {
    assert.equal(address.travelled(window.go(by), null), screen);
    address.show(screen);
  }
  assert.deepEqual(screens(window), ["intake", "bench", "sheet"]);
  // A new entry after going back replaces the later entries.
  address.travelled(window.go(-2), null);
  address.show("intake");
  address.show("bench");
  assert.deepEqual(screens(window), ["intake", "bench"]);
});

test("a link that the page is opened with is there until it is read, and gives way to its job", () => {
  const { window, address } = page(`/${LINK}`, "intake");
  assert.deepEqual(address.link(), { kind: "#j=", text: "2.abc" });
  address.show("bench");
  assert.deepEqual(screens(window), ["bench"]);
  assert.deepEqual(urls(window), ["/"]);
});

test("a link that comes to a page is new once, and becomes an entry of the screen that is shown", () => {
  const { window, address } = page("/", "intake", "bench");
  assert.equal(address.takeNewLink(), false);
  window.follow("#e=mower.7");
  assert.equal(address.travelled(window.entry.state, null), null);
  assert.equal(address.takeNewLink(), true);
  assert.equal(address.takeNewLink(), false);
  assert.deepEqual(address.link(), { kind: "#e=", text: "mower.7" });
  address.clearLink();
  assert.equal(address.link(), null);
  assert.deepEqual(screens(window), ["intake", "bench", "bench"]);
  assert.deepEqual(urls(window), ["/", "/", "/"]);
});

test("a copied link stays in its entry as long as it stands for the job on the bench", () => {
  const job = jobWith("air");
  const { window, address } = page("/", "intake", "bench");
  address.standFor(job, LINK);
  address.movedTo(job);
  address.show("class");
  assert.deepEqual(urls(window), ["/", LINK, "/"]);
  address.travelled(window.go(-1), job);
  assert.equal(window.location.hash, LINK);
  address.movedTo(jobWith("air", "spark"));
  assert.equal(window.location.hash, "");
  assert.deepEqual(screens(window), ["intake", "bench", "class"]);
});

test("an entry with the link of a job that has moved on is not read as a new link", () => {
  const job = jobWith("air");
  const { window, address } = page("/", "bench");
  address.standFor(job, LINK);
  address.show("intake");
  const next = jobWith("tank");
  address.movedTo(next);
  address.show("bench");
  assert.deepEqual(urls(window), [LINK, "/", "/"]);
  assert.equal(address.travelled(window.go(-2), next), "bench");
  assert.equal(address.takeNewLink(), false);
  assert.equal(address.link(), null);
});

test("an entry of some other page counts as none", () => {
  const { address } = page("/", "intake");
  for (const state of [null, 7, {}, { screen: "attic" }, { screen: 1 }]) {
    assert.equal(address.travelled(state, null), null);
  }
});

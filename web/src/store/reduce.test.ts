import assert from "node:assert/strict";
import { test } from "node:test";
import type { Change } from "./change.ts";
import { EMPTY_DRAFT, EMPTY_INTAKE } from "../drafts.ts";
import { holds, reduce } from "./reduce.ts";
import { INITIAL, shownScreen, type LinkedJob, type Revealed, type State } from "./state.ts";
import {
  advice,
  after,
  agreed,
  answerWith,
  beginning,
  benchOf,
  CRASH,
  found,
  jobWith,
  keptJob,
  MACHINE,
  recording,
  REFUSAL,
  withJob,
} from "./testing.ts";

const REVEALED = { hidden: {}, played: {} } as unknown as Revealed;

/** The check that was recorded last. */
function lastOf(state: State): string | undefined {
  const step = benchOf(state).file.steps?.at(-1);
  return step?.do === "check" ? step.check : undefined;
}

test("begin: the job is on the bench once the engine agrees, and the bench is shown", () => {
  const change = beginning(jobWith("air"));
  const asked = reduce(INITIAL, change);
  assert.equal(asked.pending, change);
  assert.equal(asked.bench, null);
  assert.equal(shownScreen(asked), "intake");
  const state = reduce(asked, { type: "answered", change, assessment: answerWith(["spark"]) });
  assert.deepEqual(benchOf(state).file, jobWith("air"));
  assert.equal(benchOf(state).assessment?.next?.id, "spark");
  assert.equal(shownScreen(state), "bench");
  assert.equal(state.pending, null);
});

test("record, correct, remove, set-up, undo, redo: the job changes with the answer, and not before", () => {
  const start = agreed(withJob(jobWith("air", "spark")), recording("tank"));
  const changes: readonly (readonly [Change, string | undefined])[] = [
    [recording("more"), "more"],
    [{ type: "correct", place: 2, step: found("other"), what: "" }, "other"],
    [{ type: "remove", place: 2, what: "" }, "spark"],
    [{ type: "set-up", file: jobWith("x"), what: "" }, "x"],
    [{ type: "undo" }, "spark"],
  ];
  for (const [change, last] of changes) {
    const asked = reduce(start, change);
    assert.equal(asked.bench, start.bench, change.type);
    const assessment = answerWith(["air"]);
    const state = reduce(asked, { type: "answered", change, assessment });
    assert.equal(lastOf(state), last, change.type);
    assert.equal(benchOf(state).assessment, assessment);
  }
  const redone = agreed(agreed(start, { type: "undo" }), { type: "redo" });
  assert.equal(benchOf(redone).file, benchOf(start).file);
});

test("while a change is worked out, nothing else can be changed, and no other answer counts", () => {
  const asked = reduce(withJob(jobWith()), recording("air"));
  assert.equal(reduce(asked, recording("spark")), asked);
  assert.equal(reduce(asked, { type: "undo" }), asked);
  const other = recording("air");
  assert.equal(reduce(asked, { type: "answered", change: other, assessment: answerWith([]) }), asked);
  assert.equal(reduce(asked, { type: "refused", change: other, trouble: REFUSAL }), asked);
});

test("a change that cannot be made changes nothing", () => {
  const state = withJob(jobWith());
  for (const change of [
    { type: "undo" },
    { type: "redo" },
    { type: "remove", place: 0, what: "" },
  ] as const) {
    assert.equal(reduce(state, change), state);
  }
  assert.equal(reduce(INITIAL, recording("air")), INITIAL);
});

test("refused: job, answer and what was entered stay; a refused undo is told", () => {
  const typing = after(
    agreed(withJob(jobWith()), recording("air")),
    { type: "choose", step: { kind: "check", id: "tank" } },
    { type: "type", step: "check:tank", part: { known: "told" } },
  );
  const change = recording("tank");
  const refused = after(typing, change, { type: "refused", change, trouble: REFUSAL });
  assert.equal(refused.bench, typing.bench);
  assert.equal(refused.pending, null);
  assert.equal(refused.notices.undo, null);
  const undo: Change = { type: "undo" };
  const told = after(typing, undo, { type: "refused", change: undo, trouble: REFUSAL });
  assert.equal(told.bench, typing.bench);
  assert.equal(told.notices.undo, REFUSAL);
  assert.equal(agreed(told, { type: "undo" }).notices.undo, null);
});

test("a change holds against trouble after a crash, in a job that is in trouble, and in no other case", () => {
  const fine = withJob(jobWith("air"));
  const change = recording("spark");
  assert.equal(holds(fine, change, CRASH), true);
  assert.equal(holds(fine, change, REFUSAL), false);
  const again: Change = { type: "reassess" };
  const bad = after(fine, again, { type: "unanswered", change: again, trouble: REFUSAL });
  assert.equal(benchOf(bad).trouble, REFUSAL);
  assert.equal(benchOf(bad).assessment, null);
  assert.equal(holds(bad, change, REFUSAL), true);
  const begin = { ...beginning(jobWith()), type: "begin", withTrouble: false } as const;
  assert.equal(holds(bad, begin as Change, REFUSAL), false);
  assert.equal(holds(fine, { ...begin, withTrouble: true } as Change, REFUSAL), true);
});

test("unanswered: the change holds, and the job says why there is no answer; the next answer clears that", () => {
  const change = recording("air");
  const state = after(withJob(jobWith()), change, { type: "unanswered", change, trouble: CRASH });
  assert.deepEqual(benchOf(state).file, jobWith("air"));
  assert.equal(benchOf(state).assessment, null);
  assert.equal(benchOf(state).trouble, CRASH);
  assert.equal(benchOf(agreed(state, { type: "reassess" })).trouble, null);
});

test("a draft belongs to its step: typing at another one starts anew, and choosing alone loses nothing", () => {
  const reading = { mode: "value", first: "41", second: "", unit: "kpa" } as const;
  const typed = reduce(withJob(jobWith()), { type: "type", step: "check:air", part: { reading } });
  const chosen = reduce(typed, { type: "choose", step: { kind: "check", id: "tank" } });
  assert.deepEqual(benchOf(chosen).draft, { step: "check:air", known: null, reading });
  const both = reduce(chosen, { type: "type", step: "check:air", part: { known: "unsure" } });
  assert.deepEqual(benchOf(both).draft, { step: "check:air", known: "unsure", reading });
  const other = reduce(both, { type: "type", step: "check:tank", part: { known: "told" } });
  assert.deepEqual(benchOf(other).draft, { ...EMPTY_DRAFT, step: "check:tank", known: "told" });
});

test("improved: a better step takes the lead, and the one that gave way is remembered", () => {
  const start = agreed(withJob(jobWith()), recording("air"), answerWith(["spark", "tank"]));
  const of = benchOf(start).file;
  const first = reduce(start, { type: "improved", of, assessment: answerWith(["tank", "spark"]) });
  assert.equal(benchOf(first).assessment?.next?.id, "tank");
  assert.deepEqual(benchOf(first).lookahead.gaveWay, advice("spark"));
  // The first step that gave way stays recorded when another one follows.
  const second = reduce(first, { type: "improved", of, assessment: answerWith(["attempt", "tank"]) });
  assert.deepEqual(benchOf(second).lookahead.gaveWay, advice("spark"));
  const same = reduce(start, { type: "improved", of, assessment: answerWith(["spark"]) });
  assert.equal(benchOf(same).lookahead.gaveWay, null);
});

test("improved: a step that somebody is entering stays in view", () => {
  const start = after(agreed(withJob(jobWith()), recording("air"), answerWith(["spark", "tank"])), {
    type: "type",
    step: "check:spark",
    part: { known: "unsure" },
  });
  const event = { type: "improved", of: benchOf(start).file, assessment: answerWith(["tank"]) } as const;
  const { chosen, draft, lookahead } = benchOf(reduce(start, event));
  assert.deepEqual(chosen, { kind: "check", id: "spark" });
  assert.equal(draft.known, "unsure");
  assert.equal(lookahead.gaveWay, null);
});

test("improved, looked-ahead, revealed: an answer about another job changes nothing", () => {
  const state = withJob(jobWith("air"), 7);
  const of = jobWith("air");
  assert.equal(reduce(state, { type: "improved", of, assessment: answerWith(["tank"]) }), state);
  assert.equal(reduce(state, { type: "looked-ahead", of, progress: { rounds: 1, done: 1, of: 2 } }), state);
  assert.equal(reduce(state, { type: "revealed", of, revealed: REVEALED }), state);
});

test("looked-ahead, look-ahead: progress and breaking off, both forgotten with the next step", () => {
  const start = withJob(jobWith());
  const progress = { rounds: 0, done: 3, of: 8 };
  const state = after(
    start,
    { type: "looked-ahead", of: benchOf(start).file, progress },
    { type: "look-ahead", on: false },
  );
  assert.deepEqual(benchOf(state).lookahead, { progress, gaveWay: null, stopped: true });
  assert.equal(benchOf(reduce(state, { type: "look-ahead", on: true })).lookahead.stopped, false);
  assert.deepEqual(benchOf(agreed(state, recording("air"))).lookahead, {
    progress: null,
    gaveWay: null,
    stopped: false,
  });
});

test("show-advice, revealed: in an exercise only, and what was revealed goes with the next step", () => {
  const start = withJob(jobWith(), 7);
  const shown = after(
    start,
    { type: "show-advice", shown: true },
    { type: "revealed", of: benchOf(start).file, revealed: REVEALED },
  );
  assert.deepEqual(benchOf(shown).exercise, { seed: 7, adviceShown: true, revealed: REVEALED });
  const next = agreed(shown, recording("air"));
  assert.deepEqual(benchOf(next).exercise, { seed: 7, adviceShown: true, revealed: null });
  const plain = reduce(withJob(jobWith()), { type: "show-advice", shown: true });
  assert.equal(benchOf(plain).exercise, null);
});

test("show: a screen without a job is the intake", () => {
  assert.equal(shownScreen(reduce(INITIAL, { type: "show", screen: "class" })), "intake");
  const state = withJob(jobWith());
  assert.equal(shownScreen(reduce(state, { type: "show", screen: "class" })), "class");
  assert.equal(reduce(state, { type: "show", screen: "bench" }), state);
  // An answer does not take the user back from another screen.
  const away = after(state, recording("air"), { type: "show", screen: "intake" });
  const change = away.pending as Change;
  assert.equal(reduce(away, { type: "answered", change, assessment: answerWith([]) }).screen, "intake");
});

test("fill-in, measure-in, described, ask-reasons, copied", () => {
  const start = withJob(jobWith());
  const intake = { ...EMPTY_INTAKE, rate: "60" };
  const link = { of: benchOf(start).file, url: "http://here/#j=2.x", inClipboard: true };
  const other = { ...MACHINE, id: "other" };
  const state = after(
    start,
    { type: "fill-in", intake },
    { type: "measure-in", units: "us" },
    { type: "described", machine: other },
    { type: "ask-reasons", cause: "lead/grounded" },
    { type: "copied", link },
  );
  assert.equal(state.intake, intake);
  assert.equal(state.units, "us");
  assert.deepEqual(Object.keys(state.machines), ["machine", "other"]);
  assert.equal(benchOf(state).reasonsOf, "lead/grounded");
  assert.equal(state.copied, link);
});

test("speak: what the engine said in another language is dropped, what was entered stays", () => {
  const start = reduce(withJob(jobWith("air")), { type: "type", step: "check:air", part: { known: "told" } });
  assert.equal(reduce(start, { type: "speak", language: "en" }), start);
  const state = reduce(start, { type: "speak", language: "de" });
  assert.deepEqual(state.machines, {});
  assert.equal(benchOf(state).assessment, null);
  assert.equal(benchOf(state).file, benchOf(start).file);
  assert.equal(benchOf(state).draft, benchOf(start).draft);
});

test("notice: one is put up or taken down, the others stay", () => {
  const arrived = { job: jobWith(), note: "n", fit: {}, seed: null } as unknown as LinkedJob;
  const up = after(
    INITIAL,
    { type: "notice", notice: "keeping", value: "no room" },
    { type: "notice", notice: "arrived", value: arrived },
  );
  assert.equal(up.notices.arrived, arrived);
  const down = reduce(up, { type: "notice", notice: "arrived", value: null });
  assert.deepEqual(down.notices, { ...INITIAL.notices, keeping: "no room" });
});

test("take-down: a kept job comes with its history and drafts, and without an answer", () => {
  const draft = { ...EMPTY_DRAFT, step: "check:air", known: "told" } as const;
  const kept = keptJob({ draft, chosen: { kind: "check", id: "air" }, seed: 9 });
  const asked = reduce(withJob(jobWith("air")), recording("spark"));
  const state = reduce(asked, { type: "take-down", kept });
  const bench = benchOf(state);
  assert.equal(state.pending, null);
  assert.equal(bench.id, "kept");
  for (const [name, value] of [
    ["file", kept.job],
    ["past", kept.past],
    ["future", kept.future],
    ["chosen", kept.chosen],
    ["draft", kept.draft],
    ["assessment", null],
  ] as const) {
    assert.equal(bench[name], value, name);
  }
  assert.deepEqual(bench.exercise, { seed: 9, adviceShown: false, revealed: null });
});

test("take-down of the same job from another window: shown advice and reasons stay", () => {
  const shown = after(
    withJob(jobWith(), 9),
    { type: "show-advice", shown: true },
    { type: "ask-reasons", cause: "leader" },
  );
  const state = reduce(shown, { type: "take-down", kept: keptJob({ id: "mine", seed: 9 }) });
  assert.equal(benchOf(state).exercise?.adviceShown, true);
  assert.equal(benchOf(state).reasonsOf, "leader");
});

test("throw-away: the bench is empty if it was the job there, and the job can be put back", () => {
  const start = withJob(jobWith());
  const kept = keptJob({ id: "mine" });
  const gone = after(start, recording("air"), { type: "throw-away", kept });
  assert.equal(gone.bench, null);
  assert.equal(gone.pending, null);
  assert.equal(gone.notices.removed, kept);
  const other = keptJob();
  const state = reduce(start, { type: "throw-away", kept: other });
  assert.equal(state.bench, start.bench);
  assert.equal(state.notices.removed, other);
});

test("split, shelved: the job on the bench goes on under another id; the list of jobs is replaced", () => {
  const start = withJob(jobWith());
  const state = reduce(start, { type: "split", id: "mine", second: "second" });
  assert.equal(benchOf(state).id, "second");
  assert.equal(benchOf(state).file, benchOf(start).file);
  assert.equal(reduce(start, { type: "split", id: "other", second: "second" }), start);
  const shelf = [keptJob()];
  assert.equal(reduce(start, { type: "shelved", shelf }).shelf, shelf);
});

test("no event changes the state it is given", () => {
  const frozen = deepFreeze(agreed(withJob(jobWith("air"), 7), recording("spark")));
  const change = recording("tank");
  const kept = keptJob({ id: "mine" });
  const states = [
    agreed(frozen, change),
    agreed(frozen, { type: "undo" }),
    reduce(frozen, { type: "type", step: "check:air", part: { known: "told" } }),
    reduce(frozen, { type: "improved", of: benchOf(frozen).file, assessment: answerWith(["tank"]) }),
    reduce(frozen, { type: "take-down", kept }),
    reduce(frozen, { type: "throw-away", kept }),
    reduce(frozen, { type: "speak", language: "de" }),
  ];
  for (const state of states) assert.notEqual(state, frozen);
});

/** Makes every write to a value throw. */
function deepFreeze<T>(value: T): T {
  if (typeof value === "object" && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    Object.values(value).forEach(deepFreeze);
  }
  return value;
}

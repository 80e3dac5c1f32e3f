/** What the page records of a story that is told, and the cost of waiting. */
import assert from "node:assert/strict";
import { test } from "node:test";
import { knownByDefault, recordOf, type StepCard } from "./catalogue.ts";
import { EMPTY_INTAKE } from "./drafts.ts";
import type { Provenance } from "./engine/halfsplit_wasm.js";
import { draftOf, particularsFrom } from "./intake/limits.ts";
import { MACHINE } from "./store/testing.ts";

const LOOK: StepCard = {
  kind: "check",
  id: "look",
  name: "",
  sort: "",
  how: "",
  note: "",
  minutes: 1,
  waitHours: 0,
  tools: [],
  setups: [],
  cautions: [],
  results: [],
  reading: undefined,
  knownAs: "seen",
};

/** What a record says about how it is known. */
function recorded(known: Provenance, told: boolean): Provenance | undefined {
  return recordOf(LOOK, "fine", known, told).known;
}

test("a record says how a finding is known where that does not go without saying", () => {
  assert.deepEqual([recorded("seen", false), recorded("told", false)], [undefined, "told"]);
  assert.deepEqual([recorded("seen", true), recorded("told", true)], ["seen", undefined]);
  assert.deepEqual([recorded("unsure", false), recorded("unsure", true)], ["unsure", "unsure"]);
  assert.equal(knownByDefault(true, undefined), undefined, "a step without a finding");
});

test("the switch for a told story and the cost of waiting reach the job and come back", () => {
  const made = particularsFrom({ ...EMPTY_INTAKE, story: true, wait: "4,5" }, MACHINE);
  assert.deepEqual(made, { told: true, wait_cost_per_hour: 4.5 });
  const draft = draftOf({ machine: MACHINE.id, steps: [], told: true, wait_cost_per_hour: 4.5 });
  assert.deepEqual([draft.story, draft.wait], [true, "4.5"]);
  assert.deepEqual(particularsFrom({ ...EMPTY_INTAKE, story: false }, MACHINE), {});
});

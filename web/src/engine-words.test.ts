/** What must wait, gathered from an answer. */
import assert from "node:assert/strict";
import { test } from "node:test";
import type { NotNow, RequiredStep } from "./engine/halfsplit_wasm.js";
import { waitsOf } from "./engine-words.ts";

const MEND: RequiredStep = { kind: "repair", id: "stop-leak", name: "Stop the leak" };
const LOOK: RequiredStep = { kind: "check", id: "key-look", name: "Look at the key" };

const waiting = (id: string, why: string, until: RequiredStep[]): NotNow => ({
  kind: "check",
  id,
  name: id,
  obstacle: { kind: "waits", why, until },
});
const lacking: NotNow = { kind: "check", id: "gauge", name: "", obstacle: { kind: "not-fitted" } };

test("each reason to wait stands once, with what ends the wait and all the steps that wait", () => {
  const not_now = [
    waiting("spark", "wet", [MEND]),
    lacking,
    waiting("turn", "sheared", [LOOK, MEND]),
    waiting("dose", "wet", [MEND]),
  ];
  const waits = waitsOf({ not_now });
  assert.deepEqual(
    waits.map(({ why, until, steps }) => [why, until, steps.map(({ id }) => id)]),
    [
      ["wet", [MEND], ["spark", "dose"]],
      ["sheared", [LOOK, MEND], ["turn"]],
    ],
  );
  assert.deepEqual(waitsOf({ not_now: [lacking] }), []);
});

import assert from "node:assert/strict";
import { test } from "node:test";
import type { JobFile, JobRule, ShapeRule } from "./engine/halfsplit_wasm.js";
import { troubleText } from "./trouble-words.ts";
import type { Trouble } from "./trouble.ts";
import { speak } from "./words.ts";

const about: JobFile = {
  machine: "m",
  steps: [
    { do: "attempt", outcome: "runs" },
    { do: "attempt", outcome: "nothing" },
  ],
};

const said = (trouble: Trouble): string => {
  const { text, lines } = troubleText({ ...trouble, about }, null);
  return [text, ...lines].join(" | ");
};

const rule = (place: string, broken: JobRule): Trouble => ({ kind: "rule", place, rule: broken });
const shape = (place: string, wrong: ShapeRule): Trouble => ({ kind: "shape", place, shape: wrong });

/** Troubles with the fields that the engine sends (core/src/job/rule.rs, core/src/json.rs), and their texts. */
const SAID: readonly (readonly [Trouble, en: string, de: string])[] = [
  [
    rule("steps[3].reading", {
      is: "off-scale",
      given: 62,
      given_unit: "bar",
      own: 899.2339,
      unit: "psi",
      lowest: 0,
      highest: 300,
    }),
    "Step 4: 62 bar (899.234 psi) is off the scale, which goes from 0 to 300 psi. Read it again, or enter “over 300 psi” if the gauge went past its end.",
    "Schritt 4: 62 bar (899,234 psi) liegt nicht auf der Skala; sie geht von 0 bis 300 psi. Lesen Sie noch einmal ab, oder tragen Sie „über 300 psi“ ein, wenn der Zeiger über das Ende hinausging.",
  ],
  [
    rule("steps[3].reading", {
      is: "off-scale",
      given: -5,
      given_unit: "psi",
      own: -5,
      unit: "psi",
      lowest: 0,
      highest: 300,
    }),
    "Step 4: -5 psi is off the scale, which goes from 0 to 300 psi. Read it again.",
    "Schritt 4: -5 psi liegt nicht auf der Skala; sie geht von 0 bis 300 psi. Lesen Sie noch einmal ab.",
  ],
  [
    rule("rate_per_hour", { is: "not-above-nothing", given: -4 }),
    "Price of an hour: -4 is not above 0.",
    "Stundensatz: -4 ist nicht über 0.",
  ],
  [
    rule("altitude_m", { is: "height", given_m: 9000, lowest_m: -500, highest_m: 5500 }),
    "Height above the sea: 9,000 m; heights from -500 to 5,500 m are supported.",
    "Höhe über dem Meer: 9.000 m; gerechnet wird mit Höhen von -500 bis 5.500 m.",
  ],
  [
    rule("steps[0].reading.unit", { is: "wrong-unit", given: "mm", wanted: "pressure" }),
    "Step 1: mm is no unit of pressure.",
    "Schritt 1: mm ist keine Einheit für einen Druck.",
  ],
  [
    rule("steps[4].check", { is: "no-such", what: "check", id: "filter-lok", nearest: "filter-look" }),
    "Step 5: There is no check “filter-lok”; was “filter-look” meant?",
    "Schritt 5: Es gibt keine Prüfung „filter-lok“; war „filter-look“ gemeint?",
  ],
  [
    { kind: "impossible", steps: [0, 1] },
    "These cannot all be true: | Step 1: Tried to start: Starts and keeps running | Step 2: Tried to start: Nothing at all",
    "Das kann nicht alles stimmen: | Schritt 1: Zu starten versucht: Springt an und läuft | Schritt 2: Zu starten versucht: Gar nichts",
  ],
  [
    shape("the top", { is: "missing-field", name: "machine" }),
    "The field “machine” is missing.",
    "Es fehlt das Feld „machine“.",
  ],
  [
    shape("steps[0].reading.unit", { is: "unknown-name", name: "pounds", known: ["psi", "bar"] }),
    "Step 1, “reading.unit”: “pounds” is none of: psi, bar.",
    "Schritt 1, „reading.unit“: „pounds“ ist keines von: psi, bar.",
  ],
  [
    shape("steps[1]", { is: "missing-field", name: "outcome" }),
    "Step 2: The field “outcome” is missing.",
    "Schritt 2: Es fehlt das Feld „outcome“.",
  ],
  [
    shape("line 1, column 3", { is: "not-json", line: 1, column: 3, said: "EOF" }),
    "That is no job file: line 1, character 3 is not JSON.",
    "Das ist keine Auftragsdatei: Zeile 1, Zeichen 3 ist kein JSON.",
  ],
  [
    { kind: "link", place: "machine", shape: { is: "wrong-kind", said: "invalid type" } },
    "What the link holds is no job. Machine: What stands there is not of the kind that belongs there (invalid type).",
    "Was der Link enthält, ist kein Auftrag. Maschine: Dieser Wert ist nicht von der Art, die hier stehen muss.",
  ],
];

test("what the engine complains of is said in the language of the page", async () => {
  for (const [trouble, english] of SAID) assert.equal(said(trouble), english);
  Object.assign(globalThis, { document: { documentElement: {} } });
  await speak("de");
  for (const [trouble, , german] of SAID) assert.equal(said(trouble), german);
  await speak("en");
});

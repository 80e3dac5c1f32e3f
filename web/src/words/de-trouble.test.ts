import assert from "node:assert/strict";
import { test } from "node:test";
import { german } from "./de-trouble.ts";

// The English is what the engine says: `core/src/job/mod.rs`, `core/src/job/error.rs`, `core/src/link.rs`,
// `core/src/json/read.rs`, pinned by tests there and in `tests/rust/bad_input.rs`.
const SAID: readonly (readonly [string, string])[] = [
  [
    "at steps[3].reading: 900 psi is off the scale, which goes from 0 to 300 psi",
    "Schritt 4: 900 psi liegt nicht auf der Skala; sie geht von 0 bis 300 psi",
  ],
  ["at steps[0].reading: nothing on the scale lies over that", "Schritt 1: darüber liegt nichts mehr auf der Skala"],
  ["at rate_per_hour: -4 is not above 0", "Stundensatz: -4 ist nicht über 0"],
  [
    "at altitude_m: 9000 m; heights from -500 to 5500 m are reckoned with",
    "Höhe über dem Meer: 9000 m; gerechnet wird mit Höhen von -500 bis 5500 m",
  ],
  [
    "these findings cannot all be true: step 1 (attempt = runs); step 3 (tank-look = empty)",
    "Diese Befunde können nicht alle stimmen: Schritt 1 (attempt = runs); Schritt 3 (tank-look = empty)",
  ],
  [
    'at steps[4].check: there is no check "filter-lok"; did you mean "filter-look"?',
    "Schritt 5: es gibt keine Prüfung „filter-lok“; war „filter-look“ gemeint?",
  ],
  ['there is no machine "toaster"', "es gibt keine Maschine „toaster“"],
  [
    "the link does not hold a job: at machine: invalid type: integer `7`, expected a string",
    "der Link enthält keinen Auftrag: Maschine: dieser Wert ist nicht von der Art, die hier stehen muss",
  ],
  ["at line 1, column 1: not valid JSON: expected value", "Zeile 1, Zeichen 1: das ist kein gültiges JSON"],
  ["at the top: missing field `machine`", "Anfang: es fehlt das Feld „machine“"],
];

test("what the engine says of an entry is said in German", () => {
  for (const [english, said] of SAID) assert.equal(german(english), said);
});

test("what is not known is left as it is", () => {
  assert.equal(german("something new"), "something new");
});

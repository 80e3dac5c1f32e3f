/** The user's preferences: the language and the units of gauges. */
import type { Quantity, Unit } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { isLanguage, type Language } from "../language.ts";
import { speak, usualLanguage, words } from "../words.ts";
import { forgetAnswers } from "./answers.ts";
import { reassess } from "./changes.ts";
import { isRecord } from "../shapes.ts";
import type { Units } from "./state.ts";
import { dispatch, language, units } from "./store.ts";

const KEY = "halfsplit/prefs";

/** Countries that read gauges in pounds and inches. */
const US = /-(US|LR|MM)\b/;

const usualUnits = (): Units => (US.test(navigator.language) ? "us" : "metric");

const UNIT_OF: Record<Units, Record<Quantity, Unit>> = {
  metric: {
    pressure: "kpa",
    length: "mm",
    percent: "percent",
    resistance: "ohm",
    voltage: "volt",
    mass: "gram",
    time: "minute",
  },
  us: {
    pressure: "psi",
    length: "in",
    percent: "percent",
    resistance: "ohm",
    voltage: "volt",
    mass: "ounce",
    time: "minute",
  },
};

/** The unit in which a reading is entered unless another is chosen. */
export const usualUnit = (quantity: Quantity): Unit => UNIT_OF[units.value][quantity];

function read(): Record<string, unknown> {
  try {
    const stored: unknown = JSON.parse(localStorage.getItem(KEY) ?? "{}");
    return isRecord(stored) ? stored : {};
  } catch {
    return {};
  }
}

function write(): void {
  try {
    localStorage.setItem(KEY, JSON.stringify({ language: language.value, units: units.value }));
  } catch {
    // Refused: the preference lasts for this visit only.
  }
}

/** Applies the stored preferences, or else the settings of the browser. */
export async function prefer(): Promise<void> {
  const stored = read();
  const isUnits = stored["units"] === "us" || stored["units"] === "metric";
  dispatch({ type: "measure-in", units: isUnits ? (stored["units"] as Units) : usualUnits() });
  await change(isLanguage(stored["language"]) ? stored["language"] : usualLanguage());
}

/** Switches page and engine to a language. The words are loaded before the state changes. */
async function change(wanted: Language): Promise<void> {
  engine.speak(wanted);
  await speak(wanted);
  dispatch({ type: "speak", language: wanted });
  document.documentElement.lang = words.tag;
}

export function setUnits(wanted: Units): void {
  dispatch({ type: "measure-in", units: wanted });
  write();
}

export async function setLanguage(wanted: Language): Promise<void> {
  forgetAnswers();
  await change(wanted);
  write();
  await reassess();
}

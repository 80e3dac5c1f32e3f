/** What the reader prefers: a language, and units to read gauges in. */
import { signal } from "@preact/signals";
import type { Quantity, Unit } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { isLanguage, type Language } from "../language.ts";
import { language, speak, usualLanguage, words } from "../words.ts";
import { forgetAnswers, reassess } from "./answers.ts";
import { isRecord } from "./shapes.ts";

export type Units = "metric" | "us";

const KEY = "halfsplit/prefs";

/** Countries that read gauges in pounds and inches. */
const US = /-(US|LR|MM)\b/;

const usualUnits = (): Units => (US.test(navigator.language) ? "us" : "metric");

export const units = signal<Units>("metric");

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
    // Refused: it is asked anew next time.
  }
}

/** What was preferred last time, or else what the browser is set to. */
export async function prefer(): Promise<void> {
  const stored = read();
  units.value = stored["units"] === "us" || stored["units"] === "metric" ? stored["units"] : usualUnits();
  const wanted = isLanguage(stored["language"]) ? stored["language"] : usualLanguage();
  engine.speak(wanted);
  await speak(wanted);
  document.documentElement.lang = words.tag;
}

export function setUnits(wanted: Units): void {
  units.value = wanted;
  write();
}

export async function setLanguage(wanted: Language): Promise<void> {
  engine.speak(wanted);
  forgetAnswers();
  await speak(wanted);
  document.documentElement.lang = words.tag;
  write();
  await reassess();
}

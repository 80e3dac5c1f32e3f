/** What is half entered for a step, as the record that it would be. */
import { readingOf, stepText, type StepCard } from "../catalogue.ts";
import type { Known, StepRecord } from "../engine/halfsplit_wasm.js";
import { readingFrom } from "../reading-draft.ts";
import { draftOf } from "../store/bench.ts";
import { usualUnit } from "../store/prefs.ts";

/** How the finding is known. */
export const enteredKnown = (card: StepCard): Known | undefined =>
  draftOf(stepText(card)).known ?? card.knownAs;

/** The number, or what to say about the entry; none where the step reads no number. */
export function enteredReading(card: StepCard): StepRecord | string | undefined {
  if (card.reading === undefined) return undefined;
  const reading = readingFrom(draftOf(stepText(card)).reading, usualUnit(card.reading.quantity));
  return typeof reading === "string" ? reading : readingOf(card, reading, enteredKnown(card));
}

/** What is half entered for a step, as the record that it would be. */
import { readingOf, recordOf, stepText, type StepCard } from "../catalogue.ts";
import type { Provenance, StepRecord } from "../engine/halfsplit_wasm.js";
import { readingFrom } from "../reading-draft.ts";
import { usualUnit } from "./prefs.ts";
import { draftOf } from "./store.ts";

/** How the finding is known. */
export const enteredKnown = (card: StepCard): Provenance | undefined =>
  draftOf(stepText(card)).known ?? card.knownAs;

/** The number, or what to say about the entry; undefined where the step reads no number. */
export function enteredReading(card: StepCard): StepRecord | string | undefined {
  if (card.reading === undefined) return undefined;
  const reading = readingFrom(draftOf(stepText(card)).reading, usualUnit(card.reading.quantity));
  return typeof reading === "string" ? reading : readingOf(card, reading, enteredKnown(card));
}

/** Every record that the step may become, as it is being entered; the likeliest to be wanted first. */
export function possibleRecords(card: StepCard): StepRecord[] {
  if (card.kind === "repair") return [recordOf(card, "", undefined)];
  const results = card.results.map((result) => recordOf(card, result.id, enteredKnown(card)));
  const reading = enteredReading(card);
  // An entry that is no number yet is judged when it is recorded.
  return typeof reading === "object" ? [reading, ...results] : results;
}

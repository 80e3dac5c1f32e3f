/** Turns the half-entered result of a step into the record that it would become. */
import { knownByDefault, readingOf, recordOf, stepText, type StepCard } from "../catalogue.ts";
import type { Provenance, StepRecord } from "../engine/halfsplit_wasm.js";
import { readingFrom } from "../reading-draft.ts";
import { usualUnit } from "./prefs.ts";
import { draftOf, storyTold } from "./store.ts";

/** How the entered finding is known. */
export const enteredKnown = (card: StepCard): Provenance | undefined =>
  draftOf(stepText(card)).known ?? knownByDefault(storyTold.value, card.knownAs);

/** The record of the entered number, or the message about it; undefined if the step reads no number. */
export function enteredReading(card: StepCard): StepRecord | string | undefined {
  if (card.reading === undefined) return undefined;
  const reading = readingFrom(draftOf(stepText(card)).reading, usualUnit(card.reading.quantity));
  return typeof reading === "string"
    ? reading
    : readingOf(card, reading, enteredKnown(card), storyTold.value);
}

/** Every record that the present entry may lead to, the most probable first. */
export function possibleRecords(card: StepCard): StepRecord[] {
  if (card.kind === "repair") return [recordOf(card, "", undefined, storyTold.value)];
  const results = card.results.map((result) =>
    recordOf(card, result.id, enteredKnown(card), storyTold.value),
  );
  const reading = enteredReading(card);
  // An entry that is not a number yet is left out; it is checked when it is recorded.
  return typeof reading === "object" ? [reading, ...results] : results;
}

import { readingText } from "../catalogue.ts";
import type { ReadingMeaning } from "../engine/halfsplit_wasm.js";
import { words } from "../words.ts";

interface Props {
  readonly readings: readonly ReadingMeaning[];
}

/** The latest reading of every gauge, and what it means. */
export function ReadingNotes({ readings }: Props) {
  if (readings.length === 0) return null;
  return (
    <ul class="reading-notes" aria-label={words.causes.readings} data-testid="readings">
      {readings.map(({ check, name, reading, band, text }) => (
        <li key={check}>
          {name}, <b>{reading ? readingText(reading) : band}</b>: {text}
        </li>
      ))}
    </ul>
  );
}

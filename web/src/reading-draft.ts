/** Converts a typed reading to its record and back. */
import type { Quantity, ReadingRecord, Unit } from "./engine/halfsplit_wasm.js";
import type { ReadingDraft } from "./drafts.ts";
import { words } from "./words.ts";

/** The units that a quantity can be read in, besides the usual unit of the gauge. */
export const UNITS: Record<Quantity, readonly Unit[]> = {
  pressure: ["psi", "kpa", "bar"],
  length: ["mm", "in", "thou"],
  percent: ["percent"],
  resistance: ["ohm", "kohm"],
  voltage: ["volt", "millivolt"],
  mass: ["gram", "ounce"],
  time: ["minute", "second"],
};

/** The number that was typed, with a point or a comma; undefined if it is not a number. */
export function numberFrom(text: string): number | undefined {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" || !Number.isFinite(value) ? undefined : value;
}

/** The record of a reading, or the message about the entry. The engine checks range and unit. */
export function readingFrom(draft: ReadingDraft, usual: Unit): ReadingRecord | string {
  const unit = draft.unit ?? usual;
  const first = numberFrom(draft.first);
  if (first === undefined) return words.trouble.notANumber(draft.first);
  if (draft.mode === "value") return { value: first, unit };
  if (draft.mode === "over") return { over: first, unit };
  const second = numberFrom(draft.second);
  if (second === undefined) return words.trouble.notANumber(draft.second);
  return first < second ? { between: [first, second], unit } : words.trouble.edges;
}

/** A number as it would be typed; empty if there is none. */
export const typed = (x: number | null | undefined): string => (x == null ? "" : String(x));

/** The draft of a reading that was recorded, to correct it. */
export function draftFrom({ value, over, between, unit }: ReadingRecord): ReadingDraft {
  if (between) return { mode: "between", first: typed(between[0]), second: typed(between[1]), unit };
  if (over !== undefined) return { mode: "over", first: typed(over), second: "", unit };
  return { mode: "value", first: typed(value), second: "", unit };
}

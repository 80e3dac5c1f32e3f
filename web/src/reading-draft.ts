/** From what is typed for a reading to the record of it. */
import type { Quantity, ReadingRecord, Unit } from "./engine/halfsplit_wasm.js";
import type { ReadingDraft } from "./drafts.ts";
import { words } from "./words.ts";

/** The units a quantity can be read in, the usual one of the gauge apart. */
export const UNITS: Record<Quantity, readonly Unit[]> = {
  pressure: ["psi", "kpa", "bar"],
  length: ["mm", "in"],
  percent: ["percent"],
  resistance: ["ohm", "kohm"],
  voltage: ["volt"],
  mass: ["gram", "ounce"],
  time: ["minute", "second"],
};

/** A number as typed, with a point or a comma; none if it is not one. */
export function numberFrom(text: string): number | undefined {
  const value = Number(text.trim().replace(",", "."));
  return text.trim() === "" || !Number.isFinite(value) ? undefined : value;
}

/** The record, or what to say about the entry. The engine judges range and unit. */
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

/** A number as it would be typed; nothing for none. */
export const typed = (x: number | null | undefined): string => (x == null ? "" : String(x));

/** The other way, to correct a record. */
export function draftFrom({ value, over, between, unit }: ReadingRecord): ReadingDraft {
  if (between) return { mode: "between", first: typed(between[0]), second: typed(between[1]), unit };
  if (over !== undefined) return { mode: "over", first: typed(over), second: "", unit };
  return { mode: "value", first: typed(value), second: "", unit };
}

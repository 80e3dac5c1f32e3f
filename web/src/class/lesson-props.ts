/** What the pages of a lesson have in common. */
import type { OddsHistory, CauseHistory, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";

/** Causes that are followed: as many as can be told apart from the back row. */
export const FOLLOWED = 5;

/** What every page of the lesson looks at. */
export interface LessonProps {
  readonly present: JobFile;
  readonly description: MachineFile;
  readonly course: OddsHistory;
  /** The causes followed, likeliest in the end first. */
  readonly causes: readonly CauseHistory[];
  /** Steps done up to the moment that is looked at. */
  readonly time: number;
}

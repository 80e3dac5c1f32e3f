/** The properties that the pages of a lesson share. */
import type { OddsHistory, CauseHistory, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";

/** How many causes are followed: as many as the back row can tell apart. */
export const FOLLOWED = 5;

/** The properties of every page of the lesson. */
export interface LessonProps {
  readonly present: JobFile;
  readonly description: MachineFile;
  readonly course: OddsHistory;
  /** The causes followed, the most likely at the end of the job first. */
  readonly causes: readonly CauseHistory[];
  /** How many steps are done at the moment shown. */
  readonly time: number;
}

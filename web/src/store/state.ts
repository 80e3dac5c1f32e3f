/** The whole state of the page. Only `reduce` makes a new one; everything else is derived from it. */
import type { StepKey } from "../catalogue.ts";
import type {
  Assessment,
  Fit,
  Hidden,
  JobFile,
  LookaheadProgress,
  MachineFile,
  Played,
  StepAdvice,
} from "../engine/halfsplit_wasm.js";
import type { Language } from "../language.ts";
import type { Trouble } from "../trouble.ts";
import type { Change } from "./change.ts";
import { EMPTY_DRAFT, EMPTY_INTAKE, type IntakeDraft, type StepDraft } from "../drafts.ts";
import type { KeptJob, Mark } from "./kept-job.ts";

export type Screen = "intake" | "bench" | "class" | "sheet";
export const SCREENS: readonly Screen[] = ["intake", "bench", "class", "sheet"];

export type Units = "metric" | "us";

/** The fault of an exercise, and how the advice would have proceeded. */
export interface Revealed {
  readonly hidden: Hidden;
  readonly played: Played;
}

/** The exercise that belongs to a job. */
export interface Exercise {
  /** The seed of the hidden fault. */
  readonly seed: number;
  readonly adviceShown: boolean;
  /** Null until somebody asks, and again after the next step. */
  readonly revealed: Revealed | null;
}

/** How far the advice on a job has looked ahead. */
export interface Lookahead {
  /** Null until the engine has reported; the assessment holds the progress until then. */
  readonly progress: LookaheadProgress | null;
  /** The step that the first assessment advised, if another one has taken its place. */
  readonly gaveWay: StepAdvice | null;
  /** Whether the user stopped it. */
  readonly stopped: boolean;
}

/** The job on the bench. */
export interface JobState {
  readonly id: string;
  /** Null for a job that is no exercise. */
  readonly exercise: Exercise | null;
  readonly file: JobFile;
  /** States to undo to, the latest last. */
  readonly past: readonly Mark[];
  /** States to redo to, the next one last. */
  readonly future: readonly Mark[];
  /** The step the user chose instead of the advised one. */
  readonly chosen: StepKey | null;
  readonly draft: StepDraft;
  /** The cause whose reasons are shown, as part/condition; `leader` for the likeliest one. */
  readonly reasonsOf: string | null;
  /** Null while the engine computes it, and where `trouble` says why there is none. */
  readonly assessment: Assessment | null;
  readonly trouble: Trouble | null;
  readonly lookahead: Lookahead;
}

/** A job that came with a link. */
export interface LinkedJob {
  readonly job: JobFile;
  readonly note: string | undefined;
  readonly fit: Fit;
  /** The seed, if it is an exercise. */
  readonly seed: number | null;
}

/** The notices at the head of the page, each until the user dismisses it. */
export interface Notices {
  /** The message about a failure to save. */
  readonly keeping: string | null;
  /** Why the last undo or redo did not work. */
  readonly undo: Trouble | null;
  /** Why a link cannot be opened. */
  readonly link: Trouble | null;
  /** A linked job that waits for an answer: open it, or keep the present one. */
  readonly arrived: LinkedJob | null;
  /** The linked job that was opened, if it needs a notice. */
  readonly opened: LinkedJob | null;
  /** The job last deleted; it can be restored. */
  readonly removed: KeptJob | null;
  /** Whether a newer version of the page is ready. */
  readonly update: boolean;
}

/** A copied link, and the job it stands for. */
export interface CopiedLink {
  readonly of: JobFile;
  readonly url: string;
  readonly inClipboard: boolean;
}

export interface State {
  /** The screen that was asked for; without a job the page shows the intake. */
  readonly screen: Screen;
  readonly language: Language;
  readonly units: Units;
  readonly intake: IntakeDraft;
  readonly bench: JobState | null;
  /** The change that the engine is computing. No other change is possible meanwhile. */
  readonly pending: Change | null;
  /** Descriptions of machines by id, in the language of the page. */
  readonly machines: Readonly<Record<string, MachineFile>>;
  /** The jobs kept, newest first; the one on the bench among them. */
  readonly shelf: readonly KeptJob[];
  readonly notices: Notices;
  readonly copied: CopiedLink | null;
}

export const NO_LOOKAHEAD: Lookahead = { progress: null, gaveWay: null, stopped: false };

const NO_NOTICES: Notices = {
  keeping: null,
  undo: null,
  link: null,
  arrived: null,
  opened: null,
  removed: null,
  update: false,
};

/** The page before anything has been read or entered. */
export const INITIAL: State = {
  screen: "intake",
  language: "en",
  units: "metric",
  intake: EMPTY_INTAKE,
  bench: null,
  pending: null,
  machines: {},
  shelf: [],
  notices: NO_NOTICES,
  copied: null,
};

/** An exercise that has just begun, or null without a seed. */
export const exerciseOf = (seed: number | null): Exercise | null =>
  seed === null ? null : { seed, adviceShown: false, revealed: null };

/** A job that has just been put on the bench, without history, drafts or assessment. */
export const newJob = (id: string, file: JobFile, seed: number | null): JobState => ({
  id,
  exercise: exerciseOf(seed),
  file,
  past: [],
  future: [],
  chosen: null,
  draft: EMPTY_DRAFT,
  reasonsOf: null,
  assessment: null,
  trouble: null,
  lookahead: NO_LOOKAHEAD,
});

/** The screen that is shown. */
export const shownScreen = ({ bench, screen }: State): Screen => (bench === null ? "intake" : screen);

/** The description of the machine on the bench, if it is there. */
export const machineOnBench = ({ bench, machines }: State): MachineFile | null =>
  (bench && machines[bench.file.machine]) ?? null;

/** Whether the advice is shown: always, but in an exercise only on demand. */
export const showsAdvice = ({ exercise }: JobState): boolean => exercise === null || exercise.adviceShown;

/** The reducer: a pure function that changes the state of the page by named events. */
import { adviceOn, sameStep, stepText, type StepKey } from "../catalogue.ts";
import type { Assessment, JobFile, LookaheadProgress, MachineFile } from "../engine/halfsplit_wasm.js";
import type { Language } from "../language.ts";
import type { Trouble } from "../trouble.ts";
import type { Change } from "./change.ts";
import { draftFor, type IntakeDraft, type StepDraft } from "../drafts.ts";
import { jobAfter } from "./history.ts";
import type { KeptJob } from "./kept-job.ts";
import {
  exerciseOf,
  machineOnBench,
  newJob,
  NO_LOOKAHEAD,
  type CopiedLink,
  type Exercise,
  type JobState,
  type Lookahead,
  type Notices,
  type Revealed,
  type Screen,
  type State,
  type Units,
} from "./state.ts";
import { stepInView } from "./step-in-view.ts";

/** One notice with its content. */
type Notice = { [K in keyof Notices]: { readonly notice: K; readonly value: Notices[K] } }[keyof Notices];

/** The events that answer a change. */
type Answer =
  /** The change holds, and this is the assessment of the job. */
  | { readonly type: "answered"; readonly change: Change; readonly assessment: Assessment }
  /** The change holds, but the engine cannot assess the job. */
  | { readonly type: "unanswered"; readonly change: Change; readonly trouble: Trouble }
  /** The job stays as it was. */
  | { readonly type: "refused"; readonly change: Change; readonly trouble: Trouble }
  /** A better assessment of the job than the present one. */
  | { readonly type: "improved"; readonly of: JobFile; readonly assessment: Assessment }
  /** How far the engine has looked ahead. */
  | { readonly type: "looked-ahead"; readonly of: JobFile; readonly progress: LookaheadProgress }
  | { readonly type: "revealed"; readonly of: JobFile; readonly revealed: Revealed }
  | { readonly type: "described"; readonly machine: MachineFile };

/** The user's actions that need no answer from the engine. */
type Act =
  | { readonly type: "choose"; readonly step: StepKey }
  /** A part of the draft for a step, by the text of the step's key. */
  | { readonly type: "type"; readonly step: string; readonly part: Partial<Omit<StepDraft, "step">> }
  | { readonly type: "ask-reasons"; readonly cause: string | null }
  | { readonly type: "look-ahead"; readonly on: boolean }
  | { readonly type: "show-advice"; readonly shown: boolean }
  | { readonly type: "show"; readonly screen: Screen }
  | { readonly type: "fill-in"; readonly intake: IntakeDraft }
  | { readonly type: "speak"; readonly language: Language }
  | { readonly type: "measure-in"; readonly units: Units }
  | ({ readonly type: "notice" } & Notice)
  | { readonly type: "copied"; readonly link: CopiedLink };

/** The events of the kept jobs. */
type Keeping =
  /** Puts a kept job on the bench. */
  | { readonly type: "take-down"; readonly kept: KeptJob }
  /** A job was deleted. */
  | { readonly type: "throw-away"; readonly kept: KeptJob }
  /** The job on the bench continues as a second job beside that of another window. */
  | { readonly type: "split"; readonly id: string; readonly second: string }
  | { readonly type: "shelved"; readonly shelf: readonly KeptJob[] };

export type Event = Change | Answer | Act | Keeping;

type Transitions = {
  readonly [T in Event["type"]]: (state: State, event: Extract<Event, { readonly type: T }>) => State;
};

/** The transition of the state for each event. */
const TRANSITIONS: Transitions = {
  begin: ask,
  record: ask,
  correct: ask,
  remove: ask,
  "set-up": ask,
  undo: ask,
  redo: ask,
  reassess: ask,
  answered: (state, { change, assessment }) => settle(state, change, { assessment, trouble: null }),
  unanswered: (state, { change, trouble }) => settle(state, change, { assessment: null, trouble }),
  refused: (state, { change, trouble }) => refuse(state, change, trouble),
  improved: (state, { of, assessment }) => onJob(state, of, (bench) => improve(state, bench, assessment)),
  "looked-ahead": (state, { of, progress }) => onJob(state, of, (bench) => looking(bench, { progress })),
  revealed: (state, { of, revealed }) => onJob(state, of, (bench) => exercising(bench, { revealed })),
  described: (state, { machine }) => ({ ...state, machines: { ...state.machines, [machine.id]: machine } }),
  choose: (state, { step }) => onBench(state, (bench) => ({ ...bench, chosen: step })),
  type: (state, { step, part }) =>
    onBench(state, (bench) => ({ ...bench, draft: { ...draftFor(bench.draft, step), ...part } })),
  "ask-reasons": (state, { cause }) => onBench(state, (bench) => ({ ...bench, reasonsOf: cause })),
  "look-ahead": (state, { on }) => onBench(state, (bench) => looking(bench, { stopped: !on })),
  "show-advice": (state, { shown }) => onBench(state, (bench) => exercising(bench, { adviceShown: shown })),
  show: (state, { screen }) => (state.screen === screen ? state : { ...state, screen }),
  "fill-in": (state, { intake }) => ({ ...state, intake }),
  speak,
  "measure-in": (state, { units }) => ({ ...state, units }),
  notice: (state, { notice, value }) => ({ ...state, notices: { ...state.notices, [notice]: value } }),
  copied: (state, { link }) => ({ ...state, copied: link }),
  "take-down": (state, { kept }) => ({ ...state, pending: null, bench: takeDown(state.bench, kept) }),
  "throw-away": throwAway,
  split: (state, { id, second }) =>
    onBench(state, (bench) => (bench.id === id ? { ...bench, id: second } : bench)),
  shelved: (state, { shelf }) => ({ ...state, shelf }),
};

/** The state after an event; the same object where the event changes nothing. */
export function reduce(state: State, event: Event): State {
  const transition = TRANSITIONS[event.type] as (state: State, event: Event) => State;
  return transition(state, event);
}

/** Whether a change holds although the engine answers it with trouble. */
export function holds({ bench }: State, change: Change, trouble: Trouble): boolean {
  // A crash says nothing against the change.
  if (trouble.kind === "crash" || change.type === "reassess") return true;
  // A job that is already in trouble may be corrected step by step.
  return change.type === "begin" ? change.withTrouble : bench !== null && bench.trouble !== null;
}

function onBench(state: State, change: (bench: JobState) => JobState): State {
  const { bench } = state;
  const next = bench && change(bench);
  return next === bench ? state : { ...state, bench: next };
}

/** Changes the job on the bench if it still is the one that an answer is about. */
const onJob = (state: State, of: JobFile, change: (bench: JobState) => JobState): State =>
  onBench(state, (bench) => (bench.file === of ? change(bench) : bench));

/** Marks a change as pending; only one change can be. */
function ask(state: State, change: Change): State {
  if (state.pending !== null || jobAfter(state.bench, change) === null) return state;
  return { ...state, pending: change };
}

/** Applies a change with the assessment or the trouble of the job. */
function settle(state: State, change: Change, said: Pick<JobState, "assessment" | "trouble">): State {
  const after = state.pending === change ? jobAfter(state.bench, change) : null;
  if (after === null) return state;
  return {
    ...state,
    pending: null,
    bench: { ...after, ...said },
    screen: change.type === "begin" ? "bench" : state.screen,
    notices: afterChange(state.notices, change, null),
  };
}

function refuse(state: State, change: Change, trouble: Trouble): State {
  if (state.pending !== change) return state;
  return { ...state, pending: null, notices: afterChange(state.notices, change, trouble) };
}

/** The notices after a change: a refused undo is reported at the head of the page. */
const afterChange = (notices: Notices, { type }: Change, undo: Trouble | null): Notices =>
  type === "undo" || type === "redo" ? { ...notices, undo } : notices;

const looking = (bench: JobState, part: Partial<Lookahead>): JobState => ({
  ...bench,
  lookahead: { ...bench.lookahead, ...part },
});

const exercising = (bench: JobState, part: Partial<Exercise>): JobState => ({
  ...bench,
  exercise: bench.exercise && { ...bench.exercise, ...part },
});

/**
 * Replaces the present assessment by a better one. A step that the user is entering stays in view even if
 * another step is better now.
 */
function improve(state: State, bench: JobState, assessment: Assessment): JobState {
  const machine = machineOnBench(state);
  const before = machine && bench.assessment && stepInView(bench, machine, bench.assessment);
  if (!machine || !bench.assessment || !before) return { ...bench, assessment };
  const entered = bench.draft.step === stepText(before);
  const held = entered ? { ...bench, chosen: bench.chosen ?? { kind: before.kind, id: before.id } } : bench;
  const now = stepInView(held, machine, assessment);
  const gaveWay = now && !sameStep(before, now) ? (adviceOn(bench.assessment, before) ?? null) : null;
  return looking({ ...held, assessment }, { gaveWay: held.lookahead.gaveWay ?? gaveWay });
}

/** Changes the language and drops the engine's texts in the previous one. */
function speak(state: State, { language }: { readonly language: Language }): State {
  if (language === state.language) return state;
  const spoken = { ...state, language, machines: {} };
  return onBench(spoken, (bench) => ({ ...bench, assessment: null, trouble: null, lookahead: NO_LOOKAHEAD }));
}

function takeDown(bench: JobState | null, kept: KeptJob): JobState {
  const { id, job, past, future, chosen, draft, seed } = kept;
  const same = bench?.id === id ? bench : null;
  return {
    ...newJob(id, job, seed),
    past,
    future,
    chosen,
    draft,
    exercise: seed !== null && same?.exercise ? { ...same.exercise, revealed: null } : exerciseOf(seed),
    reasonsOf: same?.reasonsOf ?? null,
  };
}

function throwAway(state: State, { kept }: { readonly kept: KeptJob }): State {
  const notices = { ...state.notices, removed: kept };
  if (state.bench?.id !== kept.id) return { ...state, notices };
  return { ...state, notices, bench: null, pending: state.pending?.type === "begin" ? state.pending : null };
}

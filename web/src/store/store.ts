/** The one signal that holds the state of the page, and what is computed from it. */
import { computed, signal, type ReadonlySignal } from "@preact/signals";
import { stepCard, type StepCard } from "../catalogue.ts";
import type { LookaheadProgress, MachineFile } from "../engine/halfsplit_wasm.js";
import { draftFor, EMPTY_DRAFT, type StepDraft } from "../drafts.ts";
import { reduce, type Event } from "./reduce.ts";
import { INITIAL, machineOnBench, shownScreen, showsAdvice, type State } from "./state.ts";
import { stepInView } from "./step-in-view.ts";

const held = signal<State>(INITIAL);

/** The state of the page. */
export const state: ReadonlySignal<State> = held;

/** Changes the state by events, one after the other. The page sees the state after the last one. */
export function dispatch(...events: readonly Event[]): void {
  held.value = events.reduce(reduce, held.peek());
}

export const screen = computed(() => shownScreen(state.value));
export const language = computed(() => state.value.language);
export const units = computed(() => state.value.units);
export const intake = computed(() => state.value.intake);
/** Descriptions of machines, by id. */
export const machines = computed(() => state.value.machines);
export const shelf = computed(() => state.value.shelf);
export const notices = computed(() => state.value.notices);
/** Whether a change is being computed; no other change is possible meanwhile. */
export const pending = computed(() => state.value.pending !== null);
/** The step that was recorded and is still being computed. */
export const coming = computed(() => {
  const change = state.value.pending;
  return change?.type === "record" ? change.step : null;
});

/** The job on the bench with all that belongs to it. */
export const bench = computed(() => state.value.bench);
export const jobId = computed(() => bench.value?.id ?? null);
export const job = computed(() => bench.value?.file ?? null);
/** Whether the whole story of the job is told. */
export const storyTold = computed(() => bench.value?.file.told ?? false);
export const machine = computed(() => machineOnBench(state.value));
export const assessment = computed(() => bench.value?.assessment ?? null);
export const trouble = computed(() => bench.value?.trouble ?? null);
/** Null unless the job is an exercise. */
export const exercise = computed(() => bench.value?.exercise ?? null);
export const adviceShown = computed(() => bench.value === null || showsAdvice(bench.value));
export const reasonsOf = computed(() => bench.value?.reasonsOf ?? null);
export const draft = computed(() => bench.value?.draft ?? EMPTY_DRAFT);

/** The link that was copied last, while it stands for the job on the bench. */
export const copied = computed(() => {
  const link = state.value.copied;
  return link?.of === job.value ? link : null;
});

/** The description of a machine if it is loaded; without an id, of the machine on the bench. */
export const machineNamed = (id: string | undefined): MachineFile | null =>
  id === undefined ? machine.value : (machines.value[id] ?? null);

/** The draft for a step. */
export const draftOf = (step: string): StepDraft => draftFor(draft.value, step);

/** The key of the step in view, if there is an answer to take it from. */
export const stepKey = computed(() => {
  const present = bench.value;
  const answer = assessment.value;
  return present && machine.value && answer ? stepInView(present, machine.value, answer) : undefined;
});

/** What the description says about the step in view; undefined for a hand-over. */
export const stepOnBench = computed((): StepCard | undefined =>
  machine.value && stepKey.value ? stepCard(machine.value, stepKey.value) : undefined,
);

/** How far the advice on the job has looked ahead. */
export const lookedAhead = computed((): LookaheadProgress | null => {
  const answer = assessment.value;
  return answer && (bench.value?.lookahead.progress ?? answer.lookahead);
});

/** The step that was advised first, if another one has taken its place. */
export const gaveWay = computed(() => bench.value?.lookahead.gaveWay ?? null);

const stopped = computed(() => bench.value?.lookahead.stopped === true);

/** Whether the lookahead on the job is complete or was stopped. */
export const isSettled = computed(() => {
  const ahead = lookedAhead.value;
  return stopped.value || ahead === null || ahead.done >= ahead.of;
});

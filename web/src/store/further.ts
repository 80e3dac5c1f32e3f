/**
 * Looks further ahead once an answer is on the bench: better ones take its place, until there is no more to look at
 * or somebody has had enough of it.
 */
import { batch, computed, effect, signal } from "@preact/signals";
import { engine } from "../engine-client.ts";
import type { Assessment, JobFile, LookaheadProgress } from "../engine/halfsplit_wasm.js";
import { sameStep, stepText } from "../catalogue.ts";
import { nameOf, stepOnBench, type CurrentStep } from "../bench/current-step.ts";
import { afterPaint } from "../ui/after-paint.ts";
import { assessment, improve, machine, pending } from "./answers.ts";
import { chosen, draft, job, seed, view } from "./bench.ts";
import { adviceShown } from "./exercise.ts";

/** How far the job in hand has been looked at. */
const far = signal<{ readonly of: JobFile; readonly ahead: LookaheadProgress } | null>(null);
/** The name of the step that was in view first, where something else turned out better. */
const first = signal<{ readonly of: JobFile; readonly step: string } | null>(null);
/** The job on which it has been enough. */
const enough = signal<JobFile | null>(null);

/** How far has been looked ahead on the job in hand. */
export const lookedAhead = computed<LookaheadProgress | null>(() => {
  const answer = assessment.value;
  if (answer === null) return null;
  return far.value?.of === job.value ? far.value.ahead : answer.lookahead;
});

/** The name of the step that the first answer on the job in hand had put first, if another took its place. */
export const gaveWay = computed<string | null>(() => (first.value?.of === job.value ? first.value.step : null));

/** Whether somebody has had enough of it. */
const isEnough = computed(() => enough.value !== null && enough.value === job.value);

/** Whether there is no more to come on the job in hand. */
export const isSettled = computed(() => isEnough.value || isDone(lookedAhead.value));

export const stopLooking = (): void => void (enough.value = job.value);
export const goOnLooking = (): void => void (enough.value = null);

const isDone = (ahead: LookaheadProgress | null): boolean => ahead === null || ahead.done >= ahead.of;

/** From now on every answer on the bench is made better. */
export function lookFurther(): void {
  let turn = 0;
  effect(() => {
    const present = job.value;
    const answer = assessment.value;
    const shown = view.value === "bench" && (seed.value === null || adviceShown.value);
    const wanted = shown && !pending.value && !isEnough.value;
    turn += 1;
    const mine = turn;
    if (present === null || answer === null || !wanted || isDone(answer.lookahead)) return;
    // Once the answer that is there has been drawn.
    afterPaint(() => {
      if (mine !== turn) return;
      // The answer that is there stays where the engine breaks; whoever wants more may ask for it again.
      void look(present, answer, () => mine === turn).catch(() => mine === turn && stopLooking());
    });
  });
}

/** A round of looks, in pieces, so that other questions get their turn between them. */
async function look(present: JobFile, answer: Assessment, wanted: () => boolean): Promise<void> {
  const ahead = await engine.call("look_ahead", present);
  if (!wanted()) return;
  far.value = { of: present, ahead };
  if (ahead.rounds <= answer.lookahead.rounds) {
    await look(present, answer, wanted);
    return;
  }
  const better = await engine.call("advise", present);
  if (!wanted()) return;
  const before = stepOnBench(machine.value, assessment.value);
  holdOn(before);
  batch(() => {
    improve(better);
    const now = stepOnBench(machine.value, assessment.value);
    if (gaveWay.value !== null || !before || !now || sameStep(before.key, now.key)) return;
    first.value = { of: present, step: nameOf(before) };
  });
}

/** Whatever somebody is entering stays in view, even where something else turns out better. */
function holdOn(step: CurrentStep | undefined): void {
  if (step === undefined || draft.value.step !== stepText(step.key)) return;
  chosen.value ??= { kind: step.key.kind, id: step.key.id };
}

import { stepText } from "../catalogue.ts";
import { assessment, machine, pending, reassess, stepsOf, trouble } from "../store/answers.ts";
import { job, seed } from "../store/bench.ts";
import { asked } from "../store/why.ts";
import { adviceShown } from "../store/exercise.ts";
import { useFollow } from "../ui/follow.ts";
import { lazily } from "../ui/lazily.tsx";
import { JumpBar } from "../ui/jump-bar.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { CausesBoard } from "./causes-board.tsx";
import { Closing } from "./closing.tsx";
import { currentStep, nameOf } from "./current-step.ts";
import { Exercise } from "./exercise.tsx";
import { FoundList } from "./found-list.tsx";
import { OtherSteps } from "./other-steps.tsx";
import { Standing } from "./standing.tsx";
import { StepTag } from "./step-tag.tsx";
import { StillToCome } from "./still-to-come.tsx";

const Why = lazily(async () => (await import("./why/why.tsx")).Why);

/** The bench: what to do on one side, what is known on the other. */
export function Bench() {
  const description = machine.value;
  const answer = assessment.value;
  const step = description && answer ? currentStep(description, answer) : undefined;
  const standing = answer?.standing ?? "";
  const place = `${stepsOf(job.value).length} ${step ? stepText(step.key) : standing}`;
  useFollow(place);
  const name = step && nameOf(step);
  return (
    <>
      <main class="bench" aria-busy={pending.value}>
        <div class="to-do">
          {seed.value !== null && <Exercise />}
          {!trouble.value && (seed.value === null || adviceShown.value) && (
            <Standing answer={answer} step={name} />
          )}
          <JobTrouble />
          {description && answer?.standing === "running" && seed.value === null && (
            <Closing machine={description} answer={answer} />
          )}
          {step && <StepTag step={step} place={place} />}
          {answer?.estimate && (seed.value === null || adviceShown.value) && (
            <StillToCome
              estimate={answer.estimate}
              atLeast={answer.at_least}
              beyond={answer.unenumerated_mass}
            />
          )}
          {description && answer && (
            <OtherSteps machine={description} answer={answer} current={step?.key} />
          )}
        </div>
        <div class="known">
          {description && answer && (seed.value === null || adviceShown.value) && (
            <>
              <CausesBoard machine={description} answer={answer} />
              {asked.value !== null && job.value && <Why machine={description} present={job.value} />}
            </>
          )}
          <FoundList machine={description} answer={answer} />
        </div>
      </main>
      <JumpBar />
    </>
  );
}

/** Why there is no answer for the job as it stands. */
function JobTrouble() {
  const found = trouble.value;
  if (found === null) return null;
  if (found.kind !== "crash") {
    const title = found.kind === "impossible" ? words.trouble.impossible : words.trouble.job;
    return <TroubleNote trouble={found} title={title} hint={words.trouble.jobHint} />;
  }
  return (
    <TroubleNote trouble={found}>
      <button type="button" class="act" onClick={() => void reassess()}>
        {words.trouble.again}
      </button>
    </TroubleNote>
  );
}

import { stepText } from "../catalogue.ts";
import { stepsOf } from "../job-file.ts";
import { reassess } from "../store/changes.ts";
import {
  adviceShown,
  assessment,
  exercise,
  job,
  machine,
  pending,
  reasonsOf,
  trouble,
} from "../store/store.ts";
import { useFollow } from "../ui/follow.ts";
import { lazily } from "../ui/lazily.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { CausesBoard } from "./causes-board.tsx";
import { Closing } from "./closing.tsx";
import { currentStep } from "./current-step.ts";
import { Exercise } from "./exercise.tsx";
import { FoundList } from "./found-list.tsx";
import { JobStatus } from "./job-status.tsx";
import { JumpBar } from "./jump-bar.tsx";
import { OtherSteps } from "./other-steps.tsx";
import { StepTag } from "./step-tag.tsx";
import { StillToCome } from "./still-to-come.tsx";
import { Waits } from "./waits.tsx";

const Why = lazily(async () => (await import("./why/why.tsx")).Why);

/** The bench: what to do on one side, what is known on the other. */
export function Bench() {
  const description = machine.value;
  const answer = assessment.value;
  const step = currentStep.value;
  const status = answer?.status ?? "";
  const place = `${stepsOf(job.value).length} ${step ? stepText(step.key) : status}`;
  useFollow(place);
  return (
    <>
      <main class="bench" aria-busy={pending.value}>
        <div class="to-do">
          {exercise.value && <Exercise shown={exercise.value} />}
          {!trouble.value && adviceShown.value && <JobStatus answer={answer} step={step?.name} />}
          <JobTrouble />
          {description && answer?.status === "running" && exercise.value === null && (
            <Closing machine={description} answer={answer} />
          )}
          {answer && adviceShown.value && <Waits answer={answer} current={step?.key} />}
          {step && <StepTag step={step} place={place} />}
          {answer?.estimate && adviceShown.value && (
            <StillToCome
              estimate={answer.estimate}
              atLeast={answer.perfect_information_cost}
              beyond={answer.unenumerated_mass}
            />
          )}
          {description && answer && <OtherSteps machine={description} answer={answer} current={step?.key} />}
        </div>
        <div class="known">
          {description && answer && adviceShown.value && (
            <>
              <CausesBoard machine={description} answer={answer} />
              {reasonsOf.value !== null && job.value && (
                <Why machine={description} present={job.value} cause={reasonsOf.value} />
              )}
            </>
          )}
          <FoundList machine={description} answer={answer} />
        </div>
      </main>
      <JumpBar />
    </>
  );
}

/** The note that says why the present job has no answer. */
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

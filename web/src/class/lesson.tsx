import { useEffect, useState } from "preact/hooks";
import { recordText } from "../catalogue.ts";
import type { OddsHistory, CauseHistory } from "../engine/halfsplit_wasm.js";
import { NO_JOB, stepsOf } from "../job-file.ts";
import { dispatch, job, machine } from "../store/store.ts";
import { useAnswer } from "../ui/engine-value.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { CourseChart } from "./course-chart.tsx";
import { Drawing } from "./drawing.tsx";
import { FOLLOWED, type LessonProps } from "./lesson-props.ts";
import { OneStep } from "./one-step.tsx";
import { Suppose } from "./suppose.tsx";
import { WhyPage } from "./why-page.tsx";

type Tab = "odds" | "step" | "why" | "graph" | "suppose";
const TABS: readonly Tab[] = ["odds", "step", "why", "graph", "suppose"];
/** A job as a lesson: how the odds moved, and why. */
export function Lesson() {
  const present = job.value;
  const description = machine.value;
  const asked = useAnswer("odds_history", present ?? NO_JOB, { factors: [] });
  return (
    <main class="lesson">
      <div class="lesson-head">
        <div>
          <h1 tabIndex={-1}>{words.lesson.title}</h1>
          <p class="quiet">{words.lesson.lead}</p>
        </div>
        <div class="row">
          <FullScreen />
          <button type="button" class="steel" onClick={() => dispatch({ type: "show", screen: "bench" })}>
            {words.lesson.back}
          </button>
        </div>
      </div>
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      {present && description && asked.value && (
        <Pages present={present} description={description} course={asked.value} />
      )}
    </main>
  );
}

function toggleFullScreen(): void {
  const done = document.fullscreenElement
    ? document.exitFullscreen()
    : document.documentElement.requestFullscreen();
  // If the browser refuses, the page stays as it is.
  done.catch(() => undefined);
}

function FullScreen() {
  if (!document.fullscreenEnabled) return null;
  return (
    <button type="button" class="steel" onClick={toggleFullScreen}>
      {words.lesson.full}
    </button>
  );
}

const highest = (c: CauseHistory): number => Math.max(...c.p);
const last = (c: CauseHistory): number => c.p.at(-1) ?? 0;

/** The causes with the highest peaks, ordered by their chance at the end. */
function followed(course: OddsHistory): CauseHistory[] {
  return course.causes
    .toSorted((a, b) => highest(b) - highest(a))
    .slice(0, FOLLOWED)
    .toSorted((a, b) => last(b) - last(a));
}

type PagesProps = Pick<LessonProps, "present" | "description" | "course">;

function Pages({ present, description, course }: PagesProps) {
  const steps = stepsOf(present);
  const [tab, setTab] = useState<Tab>("odds");
  const [time, setTime] = useState(steps.length);
  const causes = followed(course);

  useEffect(() => {
    const onKey = (event: KeyboardEvent): void => {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      if (event.target instanceof HTMLElement && event.target.closest("input, select")) return;
      const by = { ArrowLeft: -1, ArrowRight: 1 }[event.key];
      if (by !== undefined) setTime((t) => Math.min(Math.max(t + by, 0), steps.length));
    };
    document.addEventListener("keydown", onKey);
    return () => document.removeEventListener("keydown", onKey);
  }, [steps.length]);

  const step = steps[time - 1];
  const text = step && recordText(description, step);
  const at = { present, description, course, causes, time };
  return (
    <>
      <div class="lesson-step">
        <button
          type="button"
          class="steel"
          aria-label={words.lesson.earlier}
          disabled={time === 0}
          onClick={() => setTime(time - 1)}
        >
          ←
        </button>
        <p role="status">
          <span class="quiet">{words.lesson.ofSteps(time, steps.length)}</span>
          <br />
          {text ? (
            <>
              <span class="did">{text.did}</span> <strong>{text.got}</strong>
            </>
          ) : (
            <strong>{words.lesson.before}</strong>
          )}
        </p>
        <button
          type="button"
          class="steel"
          aria-label={words.lesson.later}
          disabled={time === steps.length}
          onClick={() => setTime(time + 1)}
        >
          →
        </button>
      </div>
      <nav class="lesson-tabs" aria-label={words.lesson.parts}>
        {TABS.map((one) => (
          <button
            key={one}
            type="button"
            class="steel"
            aria-current={one === tab ? "page" : undefined}
            onClick={() => setTab(one)}
          >
            {words.lesson.tabs[one]}
          </button>
        ))}
      </nav>
      {tab === "odds" && <CourseChart {...at} />}
      {tab === "step" && (step ? <OneStep {...at} /> : <p>{words.lesson.noSteps}</p>)}
      {tab === "why" && <WhyPage {...at} />}
      {tab === "graph" && <Drawing {...at} />}
      {tab === "suppose" && <Suppose {...at} />}
    </>
  );
}

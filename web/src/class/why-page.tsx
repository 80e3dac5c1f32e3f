import { useMemo } from "preact/hooks";
import { Reasons } from "../bench/why/reasons.tsx";
import { stepsOf } from "../job-file.ts";
import { words } from "../words.ts";
import type { LessonProps } from "./lesson-props.ts";

/** The reasons for the odds at the moment shown. */
export function WhyPage({ present, description, time }: LessonProps) {
  const then = useMemo(() => ({ ...present, steps: stepsOf(present).slice(0, time) }), [present, time]);
  return (
    <section class="board lesson-board reasons" aria-label={words.lesson.tabs.why} data-testid="why">
      <Reasons machine={description} present={then} cause={null} />
    </section>
  );
}

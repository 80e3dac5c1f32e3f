import { Fragment } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Intake } from "./intake/intake.tsx";
import { job, view } from "./store/bench.ts";
import { lazily } from "./ui/lazily.tsx";
import { language } from "./words.ts";
import { toHead } from "./ui/follow.ts";
import { Plate } from "./ui/plate.tsx";
import { Slips } from "./ui/slips.tsx";

const Bench = lazily(loadBench);
const Lesson = lazily(async () => (await import("./class/lesson.tsx")).Lesson);
const WorkSheet = lazily(async () => (await import("./sheet/sheet.tsx")).WorkSheet);

/** The bench is not on the first screen; it is fetched as soon as that is drawn. */
export async function loadBench() {
  return (await import("./bench/bench.tsx")).Bench;
}

/** The page: intake, bench, lesson or work sheet. */
export function App() {
  const shown = job.value === null ? "intake" : view.value;
  const before = useRef(shown);

  // Another screen is read from its head.
  useEffect(() => {
    if (before.current === shown) return;
    before.current = shown;
    window.scrollTo(0, 0);
    toHead();
  }, [shown]);

  return (
    <Fragment key={language.value}>
      <Plate />
      <Slips />
      {shown === "intake" && <Intake />}
      {shown === "bench" && <Bench />}
      {shown === "class" && <Lesson />}
      {shown === "sheet" && <WorkSheet />}
    </Fragment>
  );
}

import { Fragment } from "preact";
import { useEffect, useRef } from "preact/hooks";
import { Intake } from "./intake/intake.tsx";
import { Notices } from "./page/notices.tsx";
import { Plate } from "./page/plate.tsx";
import { language, screen } from "./store/store.ts";
import { toHead } from "./ui/follow.ts";
import { lazily } from "./ui/lazily.tsx";

const Bench = lazily(loadBench);
const Lesson = lazily(async () => (await import("./class/lesson.tsx")).Lesson);
const WorkSheet = lazily(async () => (await import("./sheet/sheet.tsx")).WorkSheet);

/** Loads the bench. It is not on the first screen, so it is fetched as soon as that screen is drawn. */
export async function loadBench() {
  return (await import("./bench/bench.tsx")).Bench;
}

/** The page: intake, bench, lesson or work sheet. */
export function App() {
  const shown = screen.value;
  const before = useRef(shown);

  // A new screen is shown from its top.
  useEffect(() => {
    if (before.current === shown) return;
    before.current = shown;
    window.scrollTo(0, 0);
    toHead();
  }, [shown]);

  return (
    <Fragment key={language.value}>
      <Plate />
      <Notices />
      {shown === "intake" && <Intake />}
      {shown === "bench" && <Bench />}
      {shown === "class" && <Lesson />}
      {shown === "sheet" && <WorkSheet />}
    </Fragment>
  );
}

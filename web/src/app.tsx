import { useEffect, useRef } from "preact/hooks";
import { Bench } from "./bench/bench.tsx";
import { Intake } from "./intake/intake.tsx";
import { job, view } from "./store/bench.ts";
import { toHead } from "./ui/follow.ts";
import { Plate } from "./ui/plate.tsx";
import { Slips } from "./ui/slips.tsx";

/** The page: intake or bench. */
export function App() {
  const atBench = view.value === "bench" && job.value !== null;
  const before = useRef(atBench);

  // Another screen is read from its head.
  useEffect(() => {
    if (before.current === atBench) return;
    before.current = atBench;
    window.scrollTo(0, 0);
    toHead();
  }, [atBench]);

  return (
    <>
      <Plate />
      <Slips />
      {atBench ? <Bench /> : <Intake />}
    </>
  );
}

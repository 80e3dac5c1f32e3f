/** The worker for longer computations. It has its own module and thread, so that the bench never waits for it. */
import * as engine from "./engine/study/halfsplit_wasm.js";
import type { JobFile, SensitivityReport } from "./engine/study/halfsplit_wasm.js";
import { serve } from "./serve.ts";
import { SessionCache } from "./sessions.ts";

/** How many analyses are kept: for the present job and the previous one. */
const ANALYSES = 2;

const analyses = new SessionCache(ANALYSES, (job) => new engine.SensitivityAnalysis(job));

/** Does one more piece of the sensitivity analysis of a job. */
const sensitivity = (job: JobFile): SensitivityReport => analyses.ask(job, (analysis) => analysis.step());

const { reasons, odds_history, arithmetic, graph, exercise, take, reveal, play, sheet, paste } = engine;
serve(engine, {
  reasons,
  sensitivity,
  odds_history,
  arithmetic,
  graph,
  exercise,
  take,
  reveal,
  play,
  sheet,
  paste,
});

/** What is looked into for longer, by a module and in a thread of its own: the bench never waits for it. */
import * as engine from "./engine/study/halfsplit_wasm.js";
import type { JobFile, SensitivityReport } from "./engine/study/halfsplit_wasm.js";
import { serve } from "./serve.ts";
import { SessionCache } from "./sessions.ts";

/** The job that is looked at, and the one before. */
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

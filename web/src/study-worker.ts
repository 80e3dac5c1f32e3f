/** What is looked into for longer, by a module and in a thread of its own: the bench never waits for it. */
import * as engine from "./engine/study/halfsplit_wasm.js";
import { serve } from "./serve.ts";

const { reasons, sensitivity, odds_history, arithmetic, graph, exercise, take, reveal, play, sheet, paste } =
  engine;
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

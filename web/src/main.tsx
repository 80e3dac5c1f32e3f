import "./styles/materials.css";
import "./styles/base.css";
import "./styles/controls.css";
import "./styles/plate.css";
import "./styles/tag.css";
import "./styles/stubs.css";
import "./styles/waits.css";
import "./styles/board.css";
import "./styles/why.css";
import "./styles/sheet.css";
import "./styles/intake.css";
import "./styles/lesson.css";
import "./styles/paper.css";
import "./styles/layout.css";

import { render } from "preact";
import { afterPaint } from "./after-paint.ts";
import { App, loadBench } from "./app.tsx";
import { engine } from "./engine-client.ts";
import { takeChosen } from "./intake/chosen-already.ts";
import { reassess } from "./store/changes.ts";
import { keep, recall } from "./store/kept.ts";
import { followScreens, readAddress, watchAddress } from "./store/link.ts";
import { startLookahead } from "./store/lookahead.ts";
import { keepOffline } from "./store/offline.ts";
import { startPrefetch } from "./store/prefetch.ts";
import { prefer } from "./store/prefs.ts";
import { job } from "./store/store.ts";
import { troubleOf } from "./trouble-words.ts";
import { place } from "./ui/place.ts";
import { TroubleNote } from "./ui/trouble-note.tsx";
import { words } from "./words.ts";

/** Opens the page: the kept job first, then the engine, then the link in the address. */
async function open(): Promise<void> {
  // If the words of the other language cannot be loaded, the page stays in English.
  await prefer().catch(() => undefined);
  const waits = recall();
  const into = place();
  if (waits) {
    into.replaceChildren();
    render(
      <p class="waiting" role="status">
        {words.wait}
      </p>,
      into,
    );
  } else {
    takeChosen(into);
    show(into);
  }
  try {
    await keep();
    await (job.value === null ? undefined : Promise.all([loadBench(), reassess()]));
  } catch (thrown) {
    render(
      <main class="waiting">
        <TroubleNote trouble={troubleOf(thrown)}>
          <button type="button" class="act" onClick={() => void open()}>
            {words.trouble.again}
          </button>
        </TroubleNote>
      </main>,
      into,
    );
    return;
  }
  if (waits) show(into);
  startLookahead();
  startPrefetch();
  keepOffline();
  watchAddress();
  await readAddress();
}

/** Draws the page, then fetches what the first screen does not need. */
function show(into: Element): void {
  followScreens();
  render(<App />, into);
  performance.mark("usable");
  // The engine is fetched last, because its download would delay what is on the screen.
  afterPaint(() => {
    // A kept job has already started the engine, and the start may have failed.
    if (job.value === null) engine.warmUp();
    void loadBench().catch(() => undefined);
  });
}

void open();

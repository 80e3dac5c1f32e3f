import { useState } from "preact/hooks";
import { LANGUAGES } from "../language.ts";
import { setLanguage, setUnits } from "../store/prefs.ts";
import type { Units } from "../store/state.ts";
import { language, units } from "../store/store.ts";
import { drawnAhead } from "../ui/drawn-ahead.ts";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { words } from "../words.ts";

const UNITS: readonly Units[] = ["metric", "us"];

/** The choice of language and units. */
export function Prefs() {
  const [busy, setBusy] = useState(false);
  return (
    <details class="limits-fold prefs" inert={drawnAhead}>
      <summary>{words.prefs.title}</summary>
      <div class="limits" aria-busy={busy}>
        <StampChoice
          legend={words.prefs.language}
          columns={2}
          options={LANGUAGES.map((value) => ({ value, name: words.prefs.languages[value] }))}
          value={language.value}
          onChange={(wanted) => {
            setBusy(true);
            void setLanguage(wanted).finally(() => setBusy(false));
          }}
        />
        <StampChoice
          legend={words.prefs.units}
          columns={2}
          options={UNITS.map((value) => ({ value, name: words.prefs[value] }))}
          value={units.value}
          onChange={setUnits}
        />
      </div>
    </details>
  );
}

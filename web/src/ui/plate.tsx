import { useEffect, useRef, useState } from "preact/hooks";
import { Settings } from "../intake/settings.tsx";
import { machine } from "../store/answers.ts";
import { current, job, seed, view } from "../store/bench.ts";
import { adviceShown } from "../store/exercise.ts";
import { copied, copyLink } from "../store/link.ts";
import type { Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { lazily } from "./lazily.tsx";
import { TroubleNote } from "./trouble-note.tsx";

const HandOn = lazily(async () => (await import("../hand-on/hand-on.tsx")).HandOn);

/** The stamped plate at the head of the page. */
export function Plate() {
  const [settings, setSettings] = useState(false);
  const [handOn, setHandOn] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const atBench = view.value === "bench" && job.value !== null;
  const away = `${view.value} ${current.value}`;
  // What was folded out for one job is not wanted for the next.
  useEffect(() => {
    setHandOn(false);
    setSettings(false);
  }, [away]);
  const tools = useRef<HTMLButtonElement>(null);
  const closeSettings = (): void => {
    setSettings(false);
    tools.current?.focus();
  };
  return (
    <header class="plate-rail">
      <div class="plate">
        <p class="plate-name">{words.name}</p>
        {atBench && <h1 class="plate-machine">{machine.value?.name}</h1>}
        {!atBench && job.value && view.value !== "intake" && (
          <p class="plate-machine">{machine.value?.name}</p>
        )}
      </div>
      {atBench && (
        <div class="plate-acts" role="group" aria-label={words.bar.nav}>
          <button
            type="button"
            class="steel"
            onClick={() => void copyLink().then(setTrouble)}
          >
            {words.bar.copy}
          </button>
          <button
            type="button"
            class="steel"
            ref={tools}
            aria-expanded={settings}
            onClick={() => setSettings(!settings)}
          >
            {words.bar.tools}
          </button>
          {(seed.value === null || adviceShown.value) && (
            <button
              type="button"
              class="steel"
              aria-expanded={handOn}
              onClick={() => setHandOn(!handOn)}
            >
              {words.handOn.open}
            </button>
          )}
          <button type="button" class="steel" onClick={() => (view.value = "sheet")}>
            {words.sheet.open}
          </button>
          <button type="button" class="steel" onClick={() => (view.value = "class")}>
            {words.lesson.open}
          </button>
          <button type="button" class="steel" onClick={() => (view.value = "intake")}>
            {words.bar.another}
          </button>
        </div>
      )}
      <Copied />
      {trouble && <TroubleNote trouble={trouble} />}
      {atBench && handOn && <HandOn />}
      {atBench && settings && machine.value && job.value && (
        <Settings
          machine={machine.value}
          present={job.value}
          onClose={closeSettings}
        />
      )}
    </header>
  );
}

/** What became of the link. */
function Copied() {
  const link = copied.value;
  return (
    <div role="status">
      {link &&
        (link.inClipboard ? (
          <p class="slip">{words.bar.copied}</p>
        ) : (
          <label class="slip field">
            <span>{words.bar.refused}</span>
            <input
              type="text"
              readOnly
              aria-label={words.bar.linkField}
              value={link.url}
              onFocus={(event) => event.currentTarget.select()}
            />
          </label>
        ))}
    </div>
  );
}

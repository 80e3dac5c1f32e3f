import { useEffect, useRef, useState } from "preact/hooks";
import { Settings } from "../intake/settings.tsx";
import { copyLink } from "../store/link.ts";
import type { Screen } from "../store/state.ts";
import { adviceShown, copied, dispatch, job, jobId, machine, screen } from "../store/store.ts";
import type { Trouble } from "../trouble.ts";
import { lazily } from "../ui/lazily.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";

const HandOn = lazily(async () => (await import("../hand-on/hand-on.tsx")).HandOn);

const show = (to: Screen): void => dispatch({ type: "show", screen: to });

/** The stamped plate at the head of the page. */
export function Plate() {
  const [settings, setSettings] = useState(false);
  const [handOn, setHandOn] = useState(false);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const atBench = screen.value === "bench";
  const away = `${screen.value} ${jobId.value}`;
  // A panel that was opened for one job is closed for the next.
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
        {!atBench && screen.value !== "intake" && <p class="plate-machine">{machine.value?.name}</p>}
      </div>
      {atBench && (
        <div class="plate-acts" role="group" aria-label={words.bar.nav}>
          <button type="button" class="steel" onClick={() => void copyLink().then(setTrouble)}>
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
          {adviceShown.value && (
            <button type="button" class="steel" aria-expanded={handOn} onClick={() => setHandOn(!handOn)}>
              {words.handOn.open}
            </button>
          )}
          <button type="button" class="steel" onClick={() => show("sheet")}>
            {words.sheet.open}
          </button>
          <button type="button" class="steel" onClick={() => show("class")}>
            {words.lesson.open}
          </button>
          <button type="button" class="steel" onClick={() => show("intake")}>
            {words.bar.another}
          </button>
        </div>
      )}
      <Copied />
      {trouble && <TroubleNote trouble={trouble} />}
      {atBench && handOn && <HandOn />}
      {atBench && settings && machine.value && job.value && (
        <Settings machine={machine.value} present={job.value} onClose={closeSettings} />
      )}
    </header>
  );
}

/** The message that says whether the link was copied. */
function Copied() {
  const link = copied.value;
  return (
    <div role="status">
      {link &&
        (link.inClipboard ? (
          <p class="notice">{words.bar.copied}</p>
        ) : (
          <label class="notice field">
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

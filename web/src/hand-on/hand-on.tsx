import { useEffect, useId, useState } from "preact/hooks";
import type { Assessment, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import type { Format } from "../engine/study/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { copyLink, linkOf } from "../store/link.ts";
import { assessment, copied, job, machine } from "../store/store.ts";
import { saveFile } from "../ui/save-file.ts";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { words } from "../words.ts";
import { Code } from "./code.tsx";
import { blocksOf } from "./text.ts";

const FORMATS: readonly Format[] = ["plain", "markdown", "bbcode"];
const LONGEST_NOTE = 500;

/** The screen that hands a job on: as a link, a QR code, a text or a file. */
export function HandOn() {
  const present = job.value;
  const description = machine.value;
  const answer = assessment.value;
  return present && description && answer ? (
    <Ways present={present} description={description} answer={answer} />
  ) : null;
}

interface Props {
  readonly present: JobFile;
  readonly description: MachineFile;
  readonly answer: Assessment;
}

function Ways({ present, description, answer }: Props) {
  const id = useId();
  const [note, setNote] = useState("");
  const [format, setFormat] = useState<Format>("plain");
  const [url, setUrl] = useState("");
  const [text, setText] = useState("");
  const [done, setDone] = useState("");
  const [trouble, setTrouble] = useState<Trouble | null>(null);

  useEffect(() => {
    let wanted = true;
    const work = async (): Promise<void> => {
      const link = await linkOf(present, note);
      const blocks = blocksOf(description, answer, present, link, note);
      const made = await engine.call("paste", { format, blocks });
      if (!wanted) return;
      setUrl(link);
      setText(made);
      setTrouble(null);
    };
    work().catch((thrown: unknown) => wanted && setTrouble(troubleOf(thrown)));
    return () => {
      wanted = false;
    };
  }, [present, description, answer, note, format]);

  const copyText = (): void => {
    navigator.clipboard.writeText(text).then(
      () => setDone(words.handOn.textCopied),
      () => setDone(words.bar.refused),
    );
  };
  return (
    <section class="hand-on settings" aria-labelledby={`${id}-title`}>
      <h2 id={`${id}-title`}>{words.handOn.title}</h2>
      <p>{words.handOn.lead}</p>
      <label class="field">
        <span>{words.handOn.note}</span>
        <textarea
          rows={2}
          maxLength={LONGEST_NOTE}
          value={note}
          onInput={(event) => setNote(event.currentTarget.value)}
        />
        <small>{words.handOn.noteHint}</small>
      </label>
      {trouble && <TroubleNote trouble={trouble} />}
      <div class="row">
        <button type="button" class="act" onClick={() => void copyLink(note).then(setTrouble)}>
          {words.bar.copy}
        </button>
        <button
          type="button"
          class="steel"
          onClick={() => saveFile(`halfsplit-${present.machine}.json`, JSON.stringify(present, null, 2))}
        >
          {words.handOn.save}
        </button>
      </div>
      {copied.value && <p role="status">{copied.value.inClipboard ? words.bar.copied : words.bar.refused}</p>}
      <div class="hand-on-ways">
        <div>
          <h3>{words.handOn.code}</h3>
          <Code text={url} />
        </div>
        <div class="paste">
          <h3>{words.handOn.text}</h3>
          <StampChoice
            legend={words.handOn.format}
            columns={3}
            options={FORMATS.map((value) => ({ value, name: words.handOn.formats[value] }))}
            value={format}
            onChange={setFormat}
          />
          <textarea class="paste-text" readOnly rows={12} aria-label={words.handOn.text} value={text} />
          <button type="button" class="steel" onClick={copyText}>
            {words.handOn.copyText}
          </button>
          <p role="status">{done}</p>
        </div>
      </div>
    </section>
  );
}

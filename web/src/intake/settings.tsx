import { useState } from "preact/hooks";
import type { JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import { setUp } from "../store/changes.ts";
import { pending } from "../store/store.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { ownTrouble, type Trouble } from "../trouble.ts";
import { words } from "../words.ts";
import { draftOf, particularsFrom } from "./limits.ts";
import { Particulars } from "./particulars.tsx";
import { ToolBoard } from "./tool-board.tsx";

interface Props {
  readonly machine: MachineFile;
  readonly present: JobFile;
  readonly onClose: () => void;
}

/** The form that changes tools and limits of a running job, as when somebody fetches a tester. */
export function Settings({ machine, present, onClose }: Props) {
  const [draft, setDraft] = useState(() => draftOf(present));
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  const save = (event: Event): void => {
    event.preventDefault();
    const particulars = particularsFrom(draft, machine);
    if (typeof particulars === "string") {
      setTrouble(ownTrouble(particulars));
      return;
    }
    const made: JobFile = { machine: present.machine, ...particulars, steps: present.steps ?? [] };
    if (draft.kit !== null) made.kit = [...draft.kit];
    void setUp(made).then((found) => (found ? setTrouble(found) : onClose()));
  };
  return (
    <form class="settings" aria-label={words.bar.toolsLong} onSubmit={save} noValidate>
      <ToolBoard
        tools={machine.tools}
        // A job without a kit has every tool.
        kit={draft.kit ?? machine.tools.map((t) => t.id)}
        onChange={(kit) => setDraft({ ...draft, kit })}
      />
      <Particulars machine={machine} draft={draft} onChange={setDraft} />
      {trouble && <TroubleNote trouble={trouble} />}
      <div class="row">
        <button type="submit" class="act" disabled={pending.value}>
          {words.bar.save}
        </button>
        <button type="button" class="plain" onClick={onClose}>
          {words.bar.cancel}
        </button>
      </div>
    </form>
  );
}

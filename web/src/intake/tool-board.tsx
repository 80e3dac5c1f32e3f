import type { MachineFile, Tool } from "../engine/halfsplit_wasm.js";
import { words } from "../words.ts";

interface Props {
  readonly machine: MachineFile;
  /** None: the common ones. */
  readonly kit: readonly string[] | null;
  readonly onChange: (kit: readonly string[]) => void;
}

/** The tools that count as at hand until somebody ticks. */
export const commonKit = (machine: MachineFile): string[] =>
  machine.tools.filter((t) => t.common).map((t) => t.id);

/** The tools on their board; those at hand are ticked. */
export function ToolBoard({ machine, kit, onChange }: Props) {
  const ticked = new Set(kit ?? commonKit(machine));
  const toggle = (id: string): void => {
    if (!ticked.delete(id)) ticked.add(id);
    onChange(machine.tools.flatMap((t) => (ticked.has(t.id) ? [t.id] : [])));
  };
  // What few people have makes the difference; what most have is folded away.
  const special = machine.tools.filter((t) => !t.common);
  const usual = machine.tools.filter((t) => t.common);
  const atHand = usual.filter((t) => ticked.has(t.id)).length;
  return (
    <fieldset class="tool-board">
      <legend>{words.intake.tools}</legend>
      <p class="quiet">{words.intake.toolsHint}</p>
      <div class="row">
        <button type="button" class="plain" onClick={() => onChange(machine.tools.map((t) => t.id))}>
          {words.intake.all}
        </button>
        <button type="button" class="plain" onClick={() => onChange([])}>
          {words.intake.none}
        </button>
      </div>
      <Hooks tools={special} ticked={ticked} onToggle={toggle} />
      <details class="usual-tools">
        <summary>{words.intake.usualTools(atHand, usual.length)}</summary>
        <Hooks tools={usual} ticked={ticked} onToggle={toggle} />
      </details>
    </fieldset>
  );
}

interface HooksProps {
  readonly tools: readonly Tool[];
  readonly ticked: ReadonlySet<string>;
  readonly onToggle: (id: string) => void;
}

function Hooks({ tools, ticked, onToggle }: HooksProps) {
  return (
    <div class="hooks">
      {tools.map(({ id, name }) => (
        <label key={id} class="hook">
          <input type="checkbox" checked={ticked.has(id)} onChange={() => onToggle(id)} />
          <span>{name}</span>
        </label>
      ))}
    </div>
  );
}

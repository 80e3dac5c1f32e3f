import type { ToolLine } from "../machine-line.ts";
import { drawnAhead } from "../ui/drawn-ahead.ts";
import { words } from "../words.ts";

interface Props {
  /** All tools that the machine may need. */
  readonly tools: readonly ToolLine[];
  /** The tools at hand; null stands for the common ones. */
  readonly kit: readonly string[] | null;
  readonly onChange: (kit: readonly string[]) => void;
}

/** The tools that count as at hand until somebody ticks. */
export const commonKit = (tools: readonly ToolLine[]): string[] =>
  tools.filter((t) => t.common).map((t) => t.id);

/** The tools on their board; those at hand are ticked. */
export function ToolBoard({ tools, kit, onChange }: Props) {
  const ticked = new Set(kit ?? commonKit(tools));
  const toggle = (id: string): void => {
    if (!ticked.delete(id)) ticked.add(id);
    onChange(tools.flatMap((t) => (ticked.has(t.id) ? [t.id] : [])));
  };
  // Common tools are folded away; the special ones are the ones worth asking about.
  const special = tools.filter((t) => !t.common);
  const usual = tools.filter((t) => t.common);
  const atHand = usual.filter((t) => ticked.has(t.id)).length;
  return (
    <fieldset class="tool-board" inert={drawnAhead}>
      <legend>{words.intake.tools}</legend>
      <p class="quiet">{words.intake.toolsHint}</p>
      <div class="row">
        <button type="button" class="plain" onClick={() => onChange(tools.map((t) => t.id))}>
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
  readonly tools: readonly ToolLine[];
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

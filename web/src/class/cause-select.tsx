import { useId } from "preact/hooks";
import type { CauseHistory } from "../engine/halfsplit_wasm.js";
import { words } from "../words.ts";

interface Props {
  readonly causes: readonly CauseHistory[];
  readonly value: number;
  readonly onChange: (place: number) => void;
}

/** The choice of the cause to look at. */
export function CauseSelect({ causes, value, onChange }: Props) {
  const id = useId();
  return (
    <label class="field" for={id}>
      <span>{words.lesson.chooseCause}</span>
      <select id={id} value={value} onChange={(event) => onChange(Number(event.currentTarget.value))}>
        {causes.map((cause, i) => (
          <option key={`${cause.part}/${cause.condition}`} value={i}>
            {cause.name}
          </option>
        ))}
      </select>
    </label>
  );
}

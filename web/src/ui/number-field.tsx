import type { ComponentChildren } from "preact";
import { useId } from "preact/hooks";

interface Props {
  readonly label: string;
  readonly hint: string;
  readonly value: string;
  readonly inputMode: "numeric" | "decimal";
  readonly onInput: (text: string) => void;
  /** A unit to choose. */
  readonly children?: ComponentChildren;
}

/** A text field for a number; the caller parses the text. */
export function NumberField({ label, hint, value, inputMode, onInput, children }: Props) {
  const id = useId();
  return (
    <div class="field">
      <label for={id}>{label}</label>
      <span class="with-unit">
        <input
          id={id}
          type="text"
          inputMode={inputMode}
          autocomplete="off"
          value={value}
          aria-describedby={`${id}-hint`}
          onInput={(event) => onInput(event.currentTarget.value)}
        />
        {children}
      </span>
      <small id={`${id}-hint`}>{hint}</small>
    </div>
  );
}

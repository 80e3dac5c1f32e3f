import type { ComponentChildren } from "preact";
import { machineNamed } from "../store/store.ts";
import type { Trouble } from "../trouble.ts";
import { troubleText } from "../trouble-words.ts";
import { words } from "../words.ts";

interface Props {
  readonly trouble: Trouble;
  readonly title?: string;
  readonly hint?: string;
  /** Buttons. */
  readonly children?: ComponentChildren;
}

/** The note about an error, shown where it happened. */
export function TroubleNote({ trouble, title = words.trouble.title, hint, children }: Props) {
  const { text, lines } = troubleText(trouble, machineNamed(trouble.about?.machine));
  return (
    <div class="notice" role="alert" data-testid="trouble">
      <p class="notice-title">{title}</p>
      <p>{text}</p>
      {lines.length > 0 && (
        <ul class="closing-list">
          {lines.map((line) => (
            <li key={line}>{line}</li>
          ))}
        </ul>
      )}
      {hint && <p class="quiet">{hint}</p>}
      {children && <div class="row">{children}</div>}
    </div>
  );
}

import type { ComponentChildren } from "preact";
import type { Trouble } from "../trouble.ts";
import { words } from "../words.ts";

interface Props {
  readonly trouble: Trouble;
  readonly title?: string;
  readonly hint?: string;
  /** Buttons. */
  readonly children?: ComponentChildren;
}

/** Something that did not work, told where it happened. */
export function TroubleNote({ trouble, title = words.trouble.title, hint, children }: Props) {
  return (
    <div class="slip" role="alert" data-testid="trouble">
      <p class="slip-title">{title}</p>
      <p>{words.trouble.said(trouble.message)}</p>
      {hint && <p class="quiet">{hint}</p>}
      {children && <div class="row">{children}</div>}
    </div>
  );
}

import type { ComponentChildren } from "preact";

interface Props {
  readonly label: string;
  readonly children: ComponentChildren;
}

/** Something wider than a phone: it is moved under the window by finger, or by arrow keys. */
export function Scroll({ label, children }: Props) {
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- without it no key would move it
    <div class="scroll" tabIndex={0} role="region" aria-label={label}>
      {children}
    </div>
  );
}

import type { ComponentChildren } from "preact";

interface Props {
  readonly label: string;
  readonly children: ComponentChildren;
}

/** A container that scrolls content wider than a phone sideways, by touch or arrow keys. */
export function Scroll({ label, children }: Props) {
  return (
    // oxlint-disable-next-line jsx-a11y/no-noninteractive-tabindex -- without it no key would scroll it
    <div class="scroll" tabIndex={0} role="region" aria-label={label}>
      {children}
    </div>
  );
}

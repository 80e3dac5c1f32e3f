import type { ComponentChildren } from "preact";

interface Props {
  readonly children: ComponentChildren;
}

/** A paper tag on a wire. The wire and the eyelet are decoration. */
export function Tag({ children }: Props) {
  return (
    <div class="tag">
      <svg class="tag-wire" viewBox="0 0 120 64" width="120" height="64" aria-hidden="true">
        <path class="wire" d="M60 47 C82 33 72 18 60 7" />
        <circle class="eyelet" cx="60" cy="48" r="11" />
        <circle class="hole" cx="60" cy="48" r="5.5" />
        <path class="wire" d="M60 47 C40 35 46 18 60 7" />
        <circle class="nail" cx="60" cy="7" r="5" />
      </svg>
      <div class="tag-face">{children}</div>
    </div>
  );
}

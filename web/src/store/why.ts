/** What the reasons are shown for: a cause, as part/condition, or whatever leads; none where they are not shown. */
import { signal } from "@preact/signals";

export const asked = signal<string | null>(null);

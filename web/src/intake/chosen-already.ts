/** The first screen is on view before anybody listens: what was chosen on it by then counts. */
import type { Outcome } from "../engine/halfsplit_wasm.js";
import { dispatch, intake } from "../store/store.ts";

/** Takes over what is chosen in the markup that the page came with, where it is not as it came. */
export function takeChosen(screen: Element): void {
  for (const input of screen.querySelectorAll<HTMLInputElement>("form input:checked")) {
    if (input.defaultChecked) continue;
    const chosen =
      input.name === "machine"
        ? { machine: input.value }
        : { tried: (input.value || null) as Outcome | null };
    dispatch({ type: "fill-in", intake: { ...intake.peek(), ...chosen } });
  }
}

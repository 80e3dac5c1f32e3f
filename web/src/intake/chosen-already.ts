/** Takes over what was chosen on the first screen before the scripts had loaded. */
import type { Outcome } from "../engine/halfsplit_wasm.js";
import { dispatch, intake } from "../store/store.ts";

/** Takes over the choices in the markup that differ from its initial state. */
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

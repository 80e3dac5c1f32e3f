import { KNOWN } from "../catalogue.ts";
import type { Provenance } from "../engine/halfsplit_wasm.js";
import { words } from "../words.ts";
import { StampChoice } from "./stamp-choice.tsx";

interface Props {
  readonly value: Provenance;
  readonly onChange: (known: Provenance) => void;
}

/** The choice of how a finding is known. */
export function KnownChoice({ value, onChange }: Props) {
  return (
    <StampChoice
      legend={words.step.howKnown}
      columns={3}
      options={KNOWN.map((one) => ({ value: one, name: words.known[one] }))}
      value={value}
      onChange={onChange}
    />
  );
}

import { useId, useState } from "preact/hooks";
import type { CauseWeights } from "../../engine/halfsplit_wasm.js";
import { words } from "../../words.ts";
import { Scroll } from "../../ui/scroll.tsx";

interface Props {
  readonly causes: readonly CauseWeights[];
  /** The steps done, in order. */
  readonly steps: readonly string[];
  /** The cause to start with, as part/condition. */
  readonly asked: string | null;
}

const idOf = (cause: CauseWeights): string => `${cause.part}/${cause.condition}`;

/** How many causes can be chosen. */
const CHOICE = 12;

/** Decibans at which a bar reaches its full length: odds of a hundred to one. */
const FULL = 20;

/** The weight of evidence of every step for one cause. */
export function Weights({ causes, steps, asked }: Props) {
  const id = useId();
  const [chosen, setChosen] = useState(asked);
  const some = causes.filter((one, place) => place < CHOICE || idOf(one) === asked);
  const cause = some.find((one) => idOf(one) === chosen) ?? some[0];
  if (cause === undefined || steps.length === 0) return null;
  return (
    <>
      <h3>{words.reasons.weights}</h3>
      <p class="quiet">{words.reasons.weightsHint}</p>
      <label class="field" for={id}>
        <span>{words.reasons.cause}</span>
        <select id={id} value={idOf(cause)} onChange={(event) => setChosen(event.currentTarget.value)}>
          {some.map((one) => (
            <option key={idOf(one)} value={idOf(one)}>
              {one.name}
            </option>
          ))}
        </select>
      </label>
      <Scroll label={words.reasons.weightsOf(cause.name)}>
        <table class="reasons-table">
          <caption class="unseen">{words.reasons.weightsOf(cause.name)}</caption>
          <thead>
            <tr>
              <th scope="col">{words.reasons.step}</th>
              <th scope="col">{words.reasons.inOrder}</th>
              <th scope="col">{words.reasons.leftOut}</th>
            </tr>
          </thead>
          <tbody>
            {steps.map((step, i) => (
              <tr key={`${i} ${step}`}>
                <th scope="row">{step}</th>
                <Weight of={cause.in_order[i] ?? null} />
                <Weight of={cause.left_out[i] ?? null} />
              </tr>
            ))}
          </tbody>
        </table>
      </Scroll>
    </>
  );
}

/** A weight in decibans with its bar: to the right if it supports the cause, to the left if it does not. */
function Weight({ of }: { readonly of: number | null }) {
  const length = of === null ? 0 : Math.min(Math.abs(of) / FULL, 1) * 50;
  const side = of !== null && of < 0 ? { insetInlineEnd: "50%" } : { insetInlineStart: "50%" };
  return (
    <td>
      <span class="reasons-figure">{of === null ? words.reasons.beyond : words.reasons.decibans(of)}</span>
      <span class="both-ways" aria-hidden="true">
        <span style={{ ...side, inlineSize: `${length}%` }} />
      </span>
    </td>
  );
}

import { useState } from "preact/hooks";
import type { Arithmetic } from "../engine/halfsplit_wasm.js";
import { useAnswer } from "../ui/engine-value.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { CauseSelect } from "./cause-select.tsx";
import type { LessonProps } from "./lesson-props.ts";

/** The arithmetic of one step: first as counts of machines, then as odds times a factor. */
export function OneStep({ present, causes, time }: LessonProps) {
  const [place, setPlace] = useState(0);
  const cause = causes[place] ?? causes[0];
  const { part, condition } = cause ?? { part: "", condition: "" };
  const asked = useAnswer("arithmetic", present, time - 1, part, condition);
  const sum = asked.value;
  return (
    <section class="board lesson-board">
      <CauseSelect causes={causes} value={place} onChange={setPlace} />
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      {sum && !sum.finding && <p class="lesson-say">{words.lesson.repair}</p>}
      {sum?.finding && <Machines sum={sum} />}
      {sum?.finding && <Factor sum={sum} />}
    </section>
  );
}

function Machines({ sum }: { readonly sum: Arithmetic }) {
  const { of, name } = sum;
  const found = of.with_found + of.without_found;
  const branch = (have: string, part: number, shown: number) => (
    <li class="branch" style={{ flexGrow: Math.max(part / of.all, 0.25) }}>
      <p>{have}</p>
      <div class="stroke" aria-hidden="true">
        <span class="stroke-reason" style={{ inlineSize: `${part > 0 ? (100 * shown) / part : 0}%` }} />
      </div>
      <p>{words.lesson.show(shown)}</p>
    </li>
  );
  return (
    <div class="machines">
      <h2>{words.lesson.of(of.all)}</h2>
      {sum.replaces !== null && <p class="quiet">{words.lesson.replaces(sum.replaces + 1)}</p>}
      <ul class="branches">
        {branch(words.lesson.have(of.with, name), of.with, of.with_found)}
        {branch(words.lesson.haveNot(of.without), of.without, of.without_found)}
      </ul>
      <p class="lesson-say">{words.lesson.so(of.with_found, found, sum.posterior)}</p>
      {sum.relative && <p class="quiet">{words.lesson.relative}</p>}
    </div>
  );
}

const odds = (x: number | null): string => (x === null ? words.lesson.noOdds : words.lesson.toOne(x));

function Factor({ sum }: { readonly sum: Arithmetic }) {
  const { prior_odds, factor, posterior_odds, weight } = sum;
  return (
    <div class="factor-form">
      <h2>{words.lesson.oddsForm}</h2>
      <dl>
        <div>
          <dt>{words.lesson.prior}</dt>
          <dd>{odds(prior_odds)}</dd>
        </div>
        <div>
          <dt>{words.lesson.factor}</dt>
          <dd>{factor === null ? words.lesson.noOdds : words.lesson.times(factor)}</dd>
        </div>
        <div>
          <dt>{words.lesson.posterior}</dt>
          <dd>{odds(posterior_odds)}</dd>
        </div>
      </dl>
      {weight !== null && <p class="quiet">{words.lesson.weight(weight)}</p>}
    </div>
  );
}

import { useEffect, useState } from "preact/hooks";
import type { Cause, SensitivityReport, JobFile, SensitivityRange } from "../../engine/halfsplit_wasm.js";
import { engine } from "../../engine-client.ts";
import type { Trouble } from "../../trouble.ts";
import { troubleOf } from "../../trouble-words.ts";
import { Scroll } from "../../ui/scroll.tsx";
import { TroubleNote } from "../../ui/trouble-note.tsx";
import { words } from "../../words.ts";
import { figureName, figureValue } from "./why-words.ts";

/** How many parameters the chart shows. */
const SHOWN = 12;

/** The sensitivity of the most likely cause and of the advice to every parameter, computed in pieces. */
export function Numbers({ present }: { readonly present: JobFile }) {
  const [firm, setFirm] = useState<SensitivityReport | null>(null);
  const [trouble, setTrouble] = useState<Trouble | null>(null);
  useEffect(() => {
    let wanted = true;
    // Each piece waits for the previous one, so that other questions get their turn in between.
    const piece = async (): Promise<void> => {
      const found = await engine.call("sensitivity", present);
      if (!wanted) return;
      setFirm(found);
      if (found.progress < 1) await piece();
    };
    setFirm(null);
    setTrouble(null);
    piece().catch((thrown: unknown) => wanted && setTrouble(troubleOf(thrown)));
    return () => {
      wanted = false;
    };
  }, [present]);
  if (trouble) return <TroubleNote trouble={trouble} />;
  const progress = firm?.progress ?? 0;
  return (
    <>
      <h3>{words.reasons.numbers}</h3>
      <p class="quiet">{words.reasons.numbersHint}</p>
      {progress < 1 && (
        <label class="field">
          <span>{words.working}</span>
          <progress value={progress} max={1} />
        </label>
      )}
      {firm?.cause && firm.ranges.length > 0 && <Tornado cause={firm.cause} swings={firm.ranges} />}
      {firm && progress >= 1 && firm.ranges.length === 0 && <p>{words.reasons.proved}</p>}
      {firm && progress >= 1 && <Advice firm={firm} />}
    </>
  );
}

interface TornadoProps {
  readonly cause: Cause;
  readonly swings: readonly SensitivityRange[];
}

function Tornado({ cause, swings }: TornadoProps) {
  const label = words.reasons.numbersOf(cause.name, cause.p);
  return (
    <Scroll label={label}>
      <table class="reasons-table">
        <caption>{label}</caption>
        <thead>
          <tr>
            <th scope="col">{words.reasons.number}</th>
            <th scope="col">{words.reasons.low}</th>
            <th scope="col">{words.reasons.high}</th>
          </tr>
        </thead>
        <tbody>
          {swings.slice(0, SHOWN).map((swing, i) => (
            <tr key={i}>
              <th scope="row">
                {figureName(swing.parameter)}
                <span class="quiet"> {words.reasons.now(figureValue(swing.parameter, swing.now))}</span>
                <Swung swing={swing} now={cause.p} />
              </th>
              <td>{chance(swing.p_low)}</td>
              <td>{chance(swing.p_high)}</td>
            </tr>
          ))}
        </tbody>
      </table>
    </Scroll>
  );
}

const chance = (p: number | null): string => (p === null ? words.reasons.beyond : words.percent(p));

/** The bar of a parameter: from the smallest chance to the largest, with a mark at the present one. */
function Swung({ swing, now }: { readonly swing: SensitivityRange; readonly now: number }) {
  const all = [swing.p_low ?? now, swing.p_high ?? now, now];
  const [from, to] = [Math.min(...all), Math.max(...all)];
  return (
    <span class="swung" aria-hidden="true">
      <span style={{ insetInlineStart: `${from * 100}%`, inlineSize: `${(to - from) * 100}%` }} />
      <i style={{ insetInlineStart: `${now * 100}%` }} />
    </span>
  );
}

/** Whether the most likely cause and the advice stay the same when the parameters change. */
function Advice({ firm }: { readonly firm: SensitivityReport }) {
  const { moved, overtaken_by } = firm.robustness;
  const changing = moved.filter((one) => !one.advice_stays);
  const leading = moved.filter((one) => !one.leader_stays);
  return (
    <>
      <h3>{words.reasons.stands}</h3>
      <p>{words.reasons.leaderStays(leading.length, moved.length)}</p>
      {overtaken_by !== null && <p>{words.reasons.overtaken(overtaken_by)}</p>}
      <p>{words.reasons.adviceStays(changing.length, moved.length)}</p>
      {changing.length > 0 && (
        <ul class="reasons-list">
          {changing.map((one, i) => (
            <li key={i}>
              {words.reasons.within(
                figureName(one.parameter),
                figureValue(one.parameter, one.advice_within[0]),
                figureValue(one.parameter, one.advice_within[1]),
                figureValue(one.parameter, one.now),
              )}
            </li>
          ))}
        </ul>
      )}
    </>
  );
}

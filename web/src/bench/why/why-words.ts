/** Puts reasons into the language of the page; names come from the machine. */
import { OUTCOMES } from "../../catalogue.ts";
import type {
  ParameterName,
  Outcome,
  Overturn,
  OverturningResult,
  SummaryItem,
} from "../../engine/halfsplit_wasm.js";
import { words } from "../../words.ts";

const isOutcome = (id: string): id is Outcome => OUTCOMES.some((outcome) => outcome === id);

/** Name of a step that may make another cause the most likely one. */
export const overturnName = ({ kind, name }: Pick<Overturn, "kind" | "name">): string =>
  kind === "attempt" ? words.step.attempt : name;

/** Name of a result of such a step. */
export const resultName = ({ id, name }: OverturningResult): string =>
  isOutcome(id) ? words.outcomes[id] : name;

/** A sentence of the summary. */
export function sentence(remark: SummaryItem, steps: readonly string[]): string {
  const says = words.reasons.says;
  switch (remark.kind) {
    case "leads":
      return says.leads(remark.name, remark.p);
    case "most-for":
      return says.mostFor(steps[remark.step] ?? "", remark.weight);
    case "most-against":
      return says.mostAgainst(steps[remark.step] ?? "", remark.weight);
    case "conflicting": {
      const wrong = remark.wrong === null ? undefined : steps[remark.wrong];
      return wrong === undefined ? says.conflicting : `${says.conflicting} ${says.wrong(wrong)}`;
    }
    case "unusual":
      return says.unusual(remark.name);
    case "overturn":
      return says.overturn(overturnName({ kind: remark.step, name: remark.name }), remark.p);
  }
}

/** The value of a parameter, with its unit if it has one. */
export const figureValue = ({ kind, unit }: ParameterName, value: number): string =>
  unit !== null && (kind === "middle" || kind === "spread")
    ? words.reading.say.value(Number(value.toPrecision(3)), unit)
    : words.percent(value);

/** The name of a parameter. */
export function figureName({ kind, of, result, when }: ParameterName): string {
  const { figures, otherwise, acts, or } = words.reasons;
  const worst = acts[(when[0] ?? "harmless") as keyof typeof acts];
  const states = when.length > 0 ? when.join(or) : otherwise;
  const ends = isOutcome(result) ? words.outcomes[result] : result;
  switch (kind) {
    case "rate":
      return figures.rate(of);
    case "share":
      return figures.share(of, result);
    case "harmless":
      return figures.harmless(of);
    case "severity":
      return figures.severity(of, ends);
    case "spoils":
      return figures.spoils(of, result, states);
    case "finding":
      return figures.finding(of, result, states);
    case "middle":
      return figures.middle(of, states);
    case "spread":
      return figures.spread(of, states);
    case "ends":
      return figures.ends(words.step.attempt, ends, worst);
    case "bypass-ends":
      return figures.ends(of, ends, worst);
    case "takes":
      return figures.takes(of);
    case "trust":
      return figures.trust(of);
  }
}

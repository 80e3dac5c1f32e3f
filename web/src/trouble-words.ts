/** Puts errors into the language of the page. */
import { recordLine, stepCard } from "./catalogue.ts";
import type { JobRule, MachineFile, ShapeRule } from "./engine/halfsplit_wasm.js";
import { isTrouble, ownTrouble, type Trouble } from "./trouble.ts";
import { words } from "./words.ts";

/** The text of an error: a sentence and the lines that belong to it. */
export interface TroubleText {
  readonly text: string;
  readonly lines: readonly string[];
}

/** Whatever was thrown, as trouble. */
export function troubleOf(thrown: unknown): Trouble {
  if (isTrouble(thrown)) return thrown;
  return ownTrouble(thrown instanceof Error ? thrown.message : words.trouble.unknown);
}

/** The text of an error. Steps and checks have the names of the machine, if the machine is known. */
export function troubleText(trouble: Trouble, machine: MachineFile | null): TroubleText {
  const own = trouble.about?.machine === machine?.id ? machine : null;
  switch (trouble.kind) {
    case "crash":
    case "page":
      return plain(trouble.message);
    case "rule":
      return plain(placed(trouble.place, ruleText(trouble.rule, machine)));
    case "shape":
      return plain(shapeText(trouble.place, trouble.shape));
    case "link":
      return plain(words.trouble.linked(shapeText(trouble.place, trouble.shape)));
    case "packing":
      return plain(words.link.packing);
    case "note":
      return plain(words.trouble.note(trouble.letters, trouble.limit));
    case "internal":
      return plain(words.trouble.ours(trouble.said));
    case "impossible":
      return {
        text: words.trouble.cannotAll,
        lines: trouble.steps.map((step) => {
          const record = trouble.about?.steps?.[step];
          const name = words.trouble.places.step(step + 1);
          return record === undefined ? name : `${name}: ${recordLine(own, record)}`;
        }),
      };
  }
}

const plain = (text: string): TroubleText => ({ text, lines: [] });

/** The text of a rule with its figures. */
export function ruleText(rule: JobRule, machine: MachineFile | null): string {
  const checkName = (id: string): string => (machine && stepCard(machine, { kind: "check", id })?.name) ?? id;
  const { rules } = words.trouble;
  switch (rule.is) {
    case "no-such":
      return rules["no-such"](rule.what, rule.id, rule.nearest);
    case "another-machine":
      return rules["another-machine"](rule.job, rule.description);
    case "not-above-nothing":
      return rules["not-above-nothing"](rule.given);
    case "height":
      return rules.height(rule.given_m, rule.lowest_m, rule.highest_m);
    case "no-number":
      return rules["no-number"](checkName(rule.check));
    case "result-or-reading":
      return rules["result-or-reading"](checkName(rule.check));
    case "no-temperature":
      return rules["no-temperature"]();
    case "temperature":
      return rules.temperature(rule.celsius, rule.lowest, rule.highest);
    case "not-finite":
      return rules["not-finite"]();
    case "wrong-unit":
      return rules["wrong-unit"](rule.given, rule.wanted);
    case "off-scale":
      return rules["off-scale"](
        reading(rule.given, rule.given_unit),
        rule.given_unit === rule.unit ? undefined : reading(rule.own, rule.unit),
        words.reading.say.between(rule.lowest, rule.highest, rule.unit),
        rule.own > rule.highest ? words.reading.say.over(rule.highest, rule.unit) : undefined,
      );
    case "nothing-over":
      return rules["nothing-over"]();
    case "edges-turned":
      return words.trouble.edges;
    case "one-way":
      return rules["one-way"]();
    case "tangled":
      return rules.tangled();
    case "factor":
      return rules["not-above-nothing"](rule.given);
    case "share":
      return rules.share(rule.given);
    case "no-condition":
      return rules["no-such"]("condition", `${rule.part}/${rule.condition}`, null);
    case "no-step":
      return rules["no-step"](rule.steps);
    case "always-starts":
      return rules["always-starts"]();
  }
}

const reading: typeof words.reading.say.value = (x, unit) => words.reading.say.value(x, unit);

function shapeText(place: string, shape: ShapeRule): string {
  const { shapes } = words.trouble;
  switch (shape.is) {
    case "not-json":
      return shapes["not-json"](shape.line, shape.column);
    case "missing-field":
      return shaped(place, shapes["missing-field"](shape.name));
    case "unknown-field":
      return shaped(place, shapes["unknown-field"](shape.name, shape.known));
    case "unknown-name":
      return shaped(place, shapes["unknown-name"](shape.name, shape.known));
    case "wrong-kind":
      return shaped(place, shapes["wrong-kind"](shape.said));
  }
}

/** The text about a value of the wrong shape. Inside a step it names the field, which `what` does not. */
function shaped(path: string, what: string): string {
  const [, step, field] = /^steps\[(\d+)\]\.(.+)$/.exec(path) ?? [];
  if (step === undefined || field === undefined) return placed(path, what);
  return `${words.trouble.places.inStep(Number(step) + 1, field)}: ${what}`;
}

/** The text of an error after its place: in the list of steps, or in the form. */
function placed(path: string, what: string): string {
  const { places } = words.trouble;
  const step = /^steps\[(\d+)\]/.exec(path)?.[1];
  if (step !== undefined) return `${places.step(Number(step) + 1)}: ${what}`;
  const field = /^\w+/.exec(path)?.[0] ?? "";
  const name = (places.fields as Record<string, string>)[field];
  return name === undefined ? what : `${name}: ${what}`;
}

/** The steps of a machine in one form for all kinds, and the names of recorded steps. */
import type {
  Assessment,
  Check,
  CheckKind,
  Provenance,
  MachineFile,
  Outcome,
  ReadingFile,
  ReadingRecord,
  Setup,
  StepAdvice,
  StepKind,
  StepRecord,
} from "./engine/halfsplit_wasm.js";
import { words } from "./words.ts";

/** The key of a step: its kind and its id. */
export interface StepKey {
  readonly kind: StepKind;
  readonly id: string;
}

/** A possible result of a step. */
export interface StepResult {
  readonly id: string;
  readonly name: string;
  readonly hint?: string;
}

/** Everything that the description says about a step. */
export interface StepCard extends StepKey {
  readonly name: string;
  readonly sort: string;
  readonly how: string;
  readonly note: string;
  readonly minutes: number;
  /** Hours of waiting in the step, beside the minutes. */
  readonly waitHours: number;
  readonly tools: readonly string[];
  readonly setups: readonly Setup[];
  /** The texts of the warnings, those of the set-up first. */
  readonly cautions: readonly string[];
  readonly results: readonly StepResult[];
  readonly reading: ReadingFile | undefined;
  /** How a finding of the step is usually known; undefined if the step gives no finding. */
  readonly knownAs: Provenance | undefined;
}

export const OUTCOMES: readonly Outcome[] = ["runs", "dies", "tries", "nothing"];
export const KNOWN: readonly Provenance[] = ["seen", "told", "unsure"];
/** The key of the plain start attempt, which every machine has once. */
export const ATTEMPT: StepKey = { kind: "attempt", id: "attempt" };

export const sameStep = (a: StepKey, b: StepKey): boolean => a.kind === b.kind && a.id === b.id;
export const stepText = (step: StepKey): string => `${step.kind}:${step.id}`;

/** The advice of an answer about a step, whether or not it is worth doing now; undefined if it cannot be done now. */
export const adviceOn = (answer: Assessment, key: StepKey): StepAdvice | undefined =>
  [...answer.ranking, ...answer.set_aside].find((step) => sameStep(step, key));

const outcomes = (): readonly StepResult[] =>
  OUTCOMES.map((id) => ({ id, name: words.outcomes[id], hint: words.outcomeHints[id] }));

export const usuallyKnown = (kind: CheckKind): Provenance => (kind === "asked" ? "told" : "seen");

/** How a finding is known unless its record says otherwise. In a job that is told, everything is told. */
export const knownByDefault = (told: boolean, usual: Provenance | undefined): Provenance | undefined =>
  told && usual !== undefined ? "told" : usual;

interface Needs {
  readonly tools?: string[];
  readonly setups?: string[];
  readonly cautions?: string[];
}

function needs(machine: MachineFile, step: Needs) {
  const setups = (step.setups ?? []).flatMap((id) => machine.setups.find((s) => s.id === id) ?? []);
  const cautionIds = new Set([...setups.flatMap((s) => s.cautions ?? []), ...(step.cautions ?? [])]);
  return {
    tools: (step.tools ?? []).map((id) => machine.tools.find((t) => t.id === id)?.name ?? id),
    setups,
    cautions: [...cautionIds].map((id) => {
      const caution = machine.cautions.find((c) => c.id === id);
      return caution ? [caution.text, caution.stop].filter(Boolean).join(" ") : id;
    }),
  };
}

/** The step of a machine with this key; undefined if the machine has no such step. */
export function stepCard(machine: MachineFile, { kind, id }: StepKey): StepCard | undefined {
  const plain = { kind, id, note: "", waitHours: 0, reading: undefined, knownAs: undefined };
  switch (kind) {
    case "check": {
      const check = machine.checks.find((c) => c.id === id);
      return check && checkCard(machine, check);
    }
    case "attempt": {
      const { how, minutes } = machine.attempt;
      const name = words.step.attempt;
      const sort = words.kinds.attempt;
      return { ...plain, name, sort, how, minutes, results: outcomes(), ...needs(machine, machine.attempt) };
    }
    case "bypass": {
      const bypass = machine.bypasses.find((b) => b.id === id);
      if (bypass === undefined) return undefined;
      const { name, how, minutes, wait_hours: waitHours = 0, note = "" } = bypass;
      const sort = words.kinds.bypass;
      const results = outcomes();
      return { ...plain, name, sort, how, note, minutes, waitHours, results, ...needs(machine, bypass) };
    }
    case "repair": {
      const repair = machine.repairs.find((r) => r.id === id);
      if (repair === undefined) return undefined;
      const { name, how, minutes, wait_hours: waitHours = 0 } = repair;
      const sort = words.kinds.repair;
      return { ...plain, name, sort, how, minutes, waitHours, results: [], ...needs(machine, repair) };
    }
    case "hand-over":
      return undefined;
  }
}

function checkCard(machine: MachineFile, check: Check): StepCard {
  const { id, name, how, minutes, wait_hours: waitHours = 0, note = "", reading } = check;
  return {
    kind: "check",
    id,
    name,
    sort: words.checkKinds[check.kind],
    how,
    note,
    minutes,
    waitHours,
    results: check.results,
    reading,
    knownAs: usuallyKnown(check.kind),
    ...needs(machine, check),
  };
}

/** Every step of a machine that can be recorded. */
export function everyStep(machine: MachineFile): StepCard[] {
  const keys: StepKey[] = [
    ATTEMPT,
    ...machine.bypasses.map(({ id }): StepKey => ({ kind: "bypass", id })),
    ...machine.checks.map(({ id }): StepKey => ({ kind: "check", id })),
    ...machine.repairs.map(({ id }): StepKey => ({ kind: "repair", id })),
  ];
  return keys.flatMap((key) => stepCard(machine, key) ?? []);
}

/** The record of a step with its result; `known` is left out where it goes without saying. */
export function recordOf(
  card: StepCard,
  result: string,
  known: Provenance | undefined,
  told: boolean,
): StepRecord {
  switch (card.kind) {
    case "repair":
      return { do: "repair", repair: card.id };
    case "bypass":
      return { do: "attempt", bypass: [card.id], outcome: result as Outcome };
    case "attempt":
      return { do: "attempt", outcome: result as Outcome };
    default:
      return { do: "check", check: card.id, result, ...said(card, known, told) };
  }
}

/** The record of a check that gave a number. */
export function readingOf(
  card: StepCard,
  reading: ReadingRecord,
  known: Provenance | undefined,
  told: boolean,
): StepRecord {
  return { do: "check", check: card.id, reading, ...said(card, known, told) };
}

const said = (card: StepCard, known: Provenance | undefined, told: boolean): { known?: Provenance } =>
  known === undefined || known === knownByDefault(told, card.knownAs) ? {} : { known };

/** The key of the step that a record is about; for several bypasses at once, the key of the first. */
export function keyOf(record: StepRecord): StepKey {
  switch (record.do) {
    case "check":
      return { kind: "check", id: record.check };
    case "repair":
      return { kind: "repair", id: record.repair };
    case "attempt": {
      const first = record.bypass?.[0];
      return first === undefined ? ATTEMPT : { kind: "bypass", id: first };
    }
  }
}

/** The text of a reading. */
export function readingText(reading: ReadingRecord): string {
  const { value, over, between, unit } = reading;
  if (between) return words.reading.say.between(between[0], between[1], unit);
  if (over !== undefined) return words.reading.say.over(over, unit);
  return words.reading.say.value(value ?? Number.NaN, unit);
}

/** The text of a record in two parts: what was done, and the result. */
export function recordText(
  machine: MachineFile | null,
  record: StepRecord,
): { readonly did: string; readonly got: string } {
  const nameOf = (key: StepKey): string =>
    (machine && stepCard(machine, key)?.name) ?? words.found.unknownStep(key.id);
  switch (record.do) {
    case "repair":
      return { did: words.found.mended, got: nameOf(keyOf(record)) };
    case "attempt": {
      const names = (record.bypass ?? []).map((id) => nameOf({ kind: "bypass", id }));
      const did = names.length === 0 ? words.found.tried : names.join("; ");
      return { did, got: words.outcomes[record.outcome] };
    }
    case "check": {
      const card = machine && stepCard(machine, keyOf(record));
      const result = card?.results.find((r) => r.id === record.result);
      const got = record.reading ? readingText(record.reading) : (result?.name ?? record.result ?? "");
      return { did: nameOf(keyOf(record)), got };
    }
  }
}

/** The text of a record in one line. */
export function recordLine(machine: MachineFile | null, record: StepRecord): string {
  const { did, got } = recordText(machine, record);
  return `${did}: ${got}`;
}

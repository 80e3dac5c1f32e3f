/**
 * Checks whether a stored value still has the expected shape. Ids are not checked here: the
 * engine checks them, and a job that it refuses can be corrected on the bench.
 */
export type Shape = (value: unknown) => boolean;

export const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);

const isText: Shape = (v) => typeof v === "string";
const isNumber: Shape = (v) => typeof v === "number";
const isBoolean: Shape = (v) => typeof v === "boolean";
const isNull: Shape = (v) => v === null;

const either =
  (...shapes: readonly Shape[]): Shape =>
  (v) =>
    shapes.some((shape) => shape(v));

const listOf =
  (shape: Shape): Shape =>
  (v) =>
    Array.isArray(v) && v.every(shape);

/** A record whose fields have these shapes; those in `may` may also be missing. */
const record =
  (must: Record<string, Shape>, may: Record<string, Shape> = {}): Shape =>
  (v) =>
    isRecord(v) &&
    Object.entries(must).every(([name, shape]) => shape(v[name])) &&
    Object.entries(may).every(([name, shape]) => v[name] === undefined || shape(v[name]));

const is =
  (text: string): Shape =>
  (v) =>
    v === text;

const isReading = record({ unit: isText }, { value: isNumber, over: isNumber, between: listOf(isNumber) });

const isStepRecord = either(
  record({ do: is("check"), check: isText }, { result: isText, reading: isReading, known: isText }),
  record({ do: is("repair"), repair: isText }, { known: isText }),
  record({ do: is("attempt"), outcome: isText }, { bypass: listOf(isText), known: isText }),
);

const isAnswers: Shape = (v) => isRecord(v) && Object.values(v).every(isText);

export const isJobFile = record(
  { machine: isText },
  {
    kit: listOf(isText),
    rate_per_hour: isNumber,
    wait_cost_per_hour: isNumber,
    hand_over_cost: isNumber,
    machine_value: isNumber,
    // The older name of `machine_value`; `keptJobFrom` replaces it.
    worth: isNumber,
    spare: isText,
    altitude_m: isNumber,
    settings: isAnswers,
    fitted: isAnswers,
    told: isBoolean,
    steps: listOf(isStepRecord),
  },
);

export const isMarks = listOf(record({ job: isJobFile, what: isText }));
/** The seed of an exercise, or null for any other job. */
export const isSeed = either(isNull, (v) => Number.isInteger(v));
export const isStep = either(isNull, record({ kind: isText, id: isText }));
export const isDraft = record({
  step: isText,
  known: either(isNull, isText),
  reading: record({ mode: isText, first: isText, second: isText, unit: either(isNull, isText) }),
});
export const isIntake = record(
  {
    machine: either(isNull, isText),
    tried: either(isNull, isText),
    kit: either(isNull, listOf(isText)),
    rate: isText,
    handOver: isText,
    altitude: isText,
    altitudeUnit: isText,
  },
  {
    worth: isText,
    wait: isText,
    story: isBoolean,
    spare: isText,
    settings: isAnswers,
    fitted: isAnswers,
    told: isAnswers,
  },
);

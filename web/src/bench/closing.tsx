import type { Assessment, CauseOdds, MachineFile } from "../engine/halfsplit_wasm.js";
import { NO_JOB, stepsOf } from "../job-file.ts";
import { dispatch, job } from "../store/store.ts";
import { useAnswer } from "../ui/engine-value.ts";
import { Tag } from "../ui/tag.tsx";
import { words } from "../words.ts";

/** Chance from which a cause is named as the reason. */
const SETTLED = 0.7;
/** Chance from which a condition is listed as present. */
const THERE = 0.5;
/** Chance below which a cause is not named when no reason is certain enough. */
const WORTH_NAMING = 0.1;

interface Props {
  readonly machine: MachineFile;
  readonly answer: Assessment;
}

/** The job's last tag: the reason, other faults present, time and cost, and what is left to do. */
export function Closing({ machine, answer }: Props) {
  const likely = answer.causes
    .filter((c) => c.p_was_cause >= WORTH_NAMING)
    .toSorted((a, b) => b.p_was_cause - a.p_was_cause);
  const settled = likely.filter((c) => c.p_was_cause >= SETTLED);
  const there = answer.causes.filter(
    (c) => c.p_was_present >= THERE && c.p_was_present - c.p_was_cause >= THERE,
  );
  const { minutes, wait_hours, parts_cost, cost } = answer.spent;
  return (
    <section class="step closing" aria-labelledby="closing-title" data-testid="closing">
      <Tag>
        <h2 class="step-name" id="closing-title" tabIndex={-1}>
          {words.closing.title}
        </h2>
        <Reason settled={settled} likely={likely} />
        {there.length > 0 && (
          <>
            <h3>{words.closing.there}</h3>
            <ul class="closing-list">
              {there.map((c) => (
                <li key={`${c.part}/${c.condition}`}>
                  {c.name} <span class="quiet">{stateOf(c)}</span>
                </li>
              ))}
            </ul>
          </>
        )}
        <h3>{words.closing.took}</h3>
        <p>{words.closing.tookText(minutes, wait_hours, parts_cost, cost)}</p>
        <Mend />
        <h3>{words.confirm.title}</h3>
        <ul class="closing-list">
          {words.confirm.texts.map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
        <Reminders machine={machine} />
      </Tag>
    </section>
  );
}

const stateOf = (cause: CauseOdds): string =>
  cause.repaired && cause.p_present < THERE ? words.closing.mended : words.closing.still;

interface ReasonProps {
  readonly settled: readonly CauseOdds[];
  readonly likely: readonly CauseOdds[];
}

function Reason({ settled, likely }: ReasonProps) {
  if (settled.length > 0) {
    return (
      <>
        {settled.map((c) => (
          <p key={`${c.part}/${c.condition}`} class="closing-reason">
            {words.closing.reason(c.name)} <span class="quiet">{words.oddsAndPercent(c.p_was_cause)}</span>
          </p>
        ))}
      </>
    );
  }
  if (likely.length === 0) return <p class="closing-reason">{words.closing.noReason}</p>;
  return (
    <>
      <p class="closing-reason">{words.closing.reasonOpen}</p>
      <ul class="closing-list">
        {likely.map((c) => (
          <li key={`${c.part}/${c.condition}`}>
            {c.name} <span class="quiet">{words.oddsAndPercent(c.p_was_cause)}</span>
          </li>
        ))}
      </ul>
    </>
  );
}

/** The faults that are still present, each with the repair that cures it. */
function Mend() {
  const asked = useAnswer("sheet", job.value ?? NO_JOB);
  const list = asked.value?.mend ?? [];
  if (list.length === 0) return null;
  return (
    <>
      <h3>{words.confirm.mend}</h3>
      <ul class="closing-list">
        {list.map(({ condition, repairs }) => {
          const by = repairs[0];
          return (
            <li key={`${condition.part}/${condition.condition}`}>
              {condition.name}{" "}
              {by && (
                <button
                  type="button"
                  class="plain"
                  onClick={() => dispatch({ type: "choose", step: { kind: "repair", id: by.repair } })}
                >
                  {words.sheet.mendBy(by.name, by.minutes, by.wait_hours, by.parts_cost)}
                </button>
              )}
            </li>
          );
        })}
      </ul>
    </>
  );
}

/** Reminders: what the repairs leave to be done, and the bypasses to be undone. */
function Reminders({ machine }: { readonly machine: MachineFile }) {
  const steps = stepsOf(job.value);
  const repairs = new Set(steps.flatMap((s) => (s.do === "repair" ? [s.repair] : [])));
  const bypasses = new Set(steps.flatMap((s) => (s.do === "attempt" ? (s.bypass ?? []) : [])));
  const texts = machine.repairs.flatMap((r) => (repairs.has(r.id) && r.leaves ? [r.leaves] : []));
  const names = machine.bypasses.flatMap((b) => (bypasses.has(b.id) ? [b.name] : []));
  if (names.length > 0) texts.push(words.closing.bypassed(names.join(", ")));
  if (texts.length === 0) return null;
  return (
    <>
      <h3>{words.closing.reminders}</h3>
      <ul class="closing-list">
        {texts.map((text) => (
          <li key={text}>{text}</li>
        ))}
      </ul>
    </>
  );
}

import { useState } from "preact/hooks";
import { recordText } from "../catalogue.ts";
import type { Assessment, SheetCondition, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import type { Prevention, Sheet } from "../engine/study/halfsplit_wasm.js";
import { adviceName } from "../engine-words.ts";
import { NO_JOB, stepsOf } from "../job-file.ts";
import { assessment, dispatch, job, machine } from "../store/store.ts";
import { useAnswer } from "../ui/engine-value.ts";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { date, SHORT_WAIT } from "../say.ts";
import { words } from "../words.ts";

/** The work sheet: the job on one page of paper, for owner and shop. */
export function WorkSheet() {
  const present = job.value;
  const description = machine.value;
  const answer = assessment.value;
  const asked = useAnswer("sheet", present ?? NO_JOB);
  return (
    <main class="work-sheet">
      <div class="row no-print">
        <button type="button" class="act" onClick={() => window.print()}>
          {words.sheet.print}
        </button>
        <button type="button" class="steel" onClick={() => dispatch({ type: "show", screen: "bench" })}>
          {words.sheet.back}
        </button>
      </div>
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      {present && description && answer && asked.value && (
        <Paper present={present} description={description} answer={answer} sheet={asked.value} />
      )}
    </main>
  );
}

interface Props {
  readonly present: JobFile;
  readonly description: MachineFile;
  readonly answer: Assessment;
  readonly sheet: Sheet;
}

function Paper({ present, description, answer, sheet }: Props) {
  const [printed] = useState(() => Date.now());
  return (
    <article class="paper" data-testid="sheet">
      <h1 tabIndex={-1}>{words.sheet.title}</h1>
      <dl class="paper-head">
        <div>
          <dt>{words.sheet.machine}</dt>
          <dd>{description.name}</dd>
        </div>
        <div>
          <dt>{words.sheet.owner}</dt>
          <dd class="blank" />
        </div>
        <div>
          <dt>{words.sheet.date}</dt>
          <dd>{date(printed)}</dd>
        </div>
      </dl>
      <Done present={present} description={description} sheet={sheet} />
      <div class="paper-columns">
        <List
          title={sheet.settled ? words.sheet.reason : words.sheet.likeliest}
          items={sheet.reasons.map(conditionText)}
          none={words.sheet.noReason}
        />
        {answer.next && <List title={words.sheet.next} items={[adviceName(answer.next)]} />}
        <List title={words.sheet.there} items={sheet.there.map(stateText)} />
        <List
          title={words.sheet.mend}
          items={sheet.mend.map(({ condition, repairs }) => {
            const by = repairs[0];
            const how = by && words.sheet.mendBy(by.name, by.minutes, by.wait_hours, by.parts_cost);
            return how === undefined ? condition.name : `${condition.name}: ${how}`;
          })}
        />
        <List
          title={words.sheet.leaves}
          items={
            sheet.bypasses.length === 0
              ? sheet.leaves
              : [...sheet.leaves, words.closing.bypassed(sheet.bypasses.join(", "))]
          }
        />
        <List
          title={words.sheet.season}
          items={[...sheet.brought_on.map(broughtOnText), words.sheet.seasonManual]}
        />
      </div>
    </article>
  );
}

const conditionText = ({ name, p }: SheetCondition): string => `${name}: ${words.oddsAndPercent(p)}`;
const broughtOnText = ({ name, prevent, by }: Prevention): string => {
  const likelier = by.length === 0 ? "" : words.sheet.likelier(by.map((one) => `${one.of}: ${one.name}`));
  if (prevent === "") return `${name}: ${likelier}`;
  return likelier === "" ? `${name}: ${prevent}` : `${name}: ${prevent} (${likelier})`;
};
const stateText = ({ name, mended }: SheetCondition): string =>
  `${name} (${mended ? words.closing.mended : words.closing.still})`;

/** Minutes of work, and hours of waiting where there are any. */
const timeText = ({
  minutes,
  wait_hours,
}: {
  readonly minutes: number;
  readonly wait_hours: number;
}): string =>
  wait_hours >= SHORT_WAIT
    ? `${words.count(Math.round(minutes))} + ${words.waiting(wait_hours)}`
    : words.count(Math.round(minutes));

function Done({ present, description, sheet }: Omit<Props, "answer">) {
  return (
    <table class="figures">
      <caption>{words.sheet.done}</caption>
      <thead>
        <tr>
          <th scope="col">{words.sheet.what}</th>
          <th scope="col">{words.sheet.result}</th>
          <th scope="col">{words.sheet.minutes}</th>
          <th scope="col">{words.sheet.parts}</th>
        </tr>
      </thead>
      <tbody>
        {stepsOf(present).map((step, i) => {
          const { did, got } = recordText(description, step);
          const line = sheet.lines[i];
          return (
            <tr key={i}>
              <td>{did}</td>
              <td>{got}</td>
              <td>{line && timeText(line)}</td>
              <td>{line && line.parts_cost > 0 ? words.money(line.parts_cost) : ""}</td>
            </tr>
          );
        })}
      </tbody>
      <tfoot>
        <tr>
          <th scope="row" colSpan={2}>
            {words.sheet.total}
          </th>
          <td>{timeText(sheet.spent)}</td>
          <td>{words.money(sheet.spent.parts_cost)}</td>
        </tr>
      </tfoot>
    </table>
  );
}

interface ListProps {
  readonly title: string;
  readonly items: readonly string[];
  readonly none?: string;
}

function List({ title, items, none }: ListProps) {
  if (items.length === 0 && none === undefined) return null;
  return (
    <section>
      <h2>{title}</h2>
      {items.length === 0 ? (
        <p>{none}</p>
      ) : (
        <ul class="closing-list">
          {items.map((text) => (
            <li key={text}>{text}</li>
          ))}
        </ul>
      )}
    </section>
  );
}

import { useEffect, useId, useRef, useState } from "preact/hooks";
import { everyStep, sameStep, type StepCard, type StepKey } from "../catalogue.ts";
import type { Assessment, MachineFile, StepAdvice } from "../engine/halfsplit_wasm.js";
import { adviceShown, dispatch } from "../store/store.ts";
import { toStep } from "../ui/follow.ts";
import { adviceName, obstacleText } from "../engine-words.ts";
import { words } from "../words.ts";

/** How many steps of the ranking are shown before somebody asks for everything. */
const SHOWN = 4;

interface Props {
  readonly machine: MachineFile;
  readonly answer: Assessment;
  /** The step in view, which is not listed again. */
  readonly current: StepKey | undefined;
}

/** The next best steps, and a button that opens the list of all steps. */
export function OtherSteps({ machine, answer, current }: Props) {
  const [open, setOpen] = useState(false);
  const [everything, setEverything] = useState(false);
  const others = (steps: readonly StepAdvice[]): readonly StepAdvice[] =>
    steps.filter((step) => current === undefined || !sameStep(step, current));
  const good = adviceShown.value ? others(answer.ranking) : [];
  const aside = adviceShown.value ? others(answer.set_aside) : [];
  const choose = (key: StepKey): void => {
    dispatch({ type: "choose", step: { kind: key.kind, id: key.id } });
    setOpen(false);
    setEverything(false);
    // Choosing the step in view changes nothing, so the page does not scroll to it by itself.
    if (current && sameStep(current, key)) toStep();
  };
  return (
    <section class="others" id="other" tabIndex={-1} aria-label={words.others.title}>
      {good.length > 0 && <h2>{words.others.title}</h2>}
      <Ranked steps={everything ? good : good.slice(0, SHOWN)} onChoose={choose} />
      {everything && aside.length > 0 && (
        <div class="set-aside" data-testid="set-aside">
          <h3>{words.others.setAside}</h3>
          <Ranked steps={aside} onChoose={choose} />
        </div>
      )}
      {good.length + aside.length > SHOWN && (
        <button
          type="button"
          class="plain"
          aria-expanded={everything}
          onClick={() => setEverything(!everything)}
        >
          {everything ? words.others.fewer : words.others.everything(good.length + aside.length)}
        </button>
      )}
      <button type="button" class="plain" aria-expanded={open} onClick={() => setOpen(!open)}>
        {words.others.something}
      </button>
      {open && <EveryStep machine={machine} answer={answer} onChoose={choose} />}
    </section>
  );
}

interface RankedProps {
  readonly steps: readonly StepAdvice[];
  readonly onChoose: (key: StepKey) => void;
}

/** Steps of the advice in its order, each with what it takes. */
function Ranked({ steps, onChoose }: RankedProps) {
  return (
    <ul class="pegs">
      {steps.map((step) => (
        <li key={`${step.kind}:${step.id}`}>
          <button type="button" class="peg" onClick={() => onChoose(step)}>
            <span class="peg-name">{adviceName(step)}</span>
            <span class="peg-fact">
              {step.minutes > 0 ? words.effort(step.minutes, step.wait_hours) : words.kinds[step.kind]}
              {step.cost > 0 && `, ${words.step.price(step.cost)}`}
            </span>
          </button>
        </li>
      ))}
    </ul>
  );
}

interface EveryProps {
  readonly machine: MachineFile;
  readonly answer: Assessment;
  readonly onChoose: (key: StepKey) => void;
}

const GROUPS = ["attempt", "bypass", "check", "repair"] as const;

/** All steps of the machine with a search field; steps that are not advised say why. */
function EveryStep({ machine, answer, onChoose }: EveryProps) {
  const id = useId();
  const [text, setText] = useState("");
  const field = useRef<HTMLInputElement>(null);
  useEffect(() => field.current?.focus(), []);
  const sought = text.trim().toLocaleLowerCase();
  const found = everyStep(machine).filter(({ name, how }) =>
    `${name} ${how}`.toLocaleLowerCase().includes(sought),
  );
  return (
    <div class="every">
      <label class="field" for={id}>
        <span>{words.others.search}</span>
        <input
          id={id}
          ref={field}
          type="search"
          value={text}
          autocomplete="off"
          onInput={(event) => setText(event.currentTarget.value)}
        />
      </label>
      {found.length === 0 && <p role="status">{words.others.nothing}</p>}
      {GROUPS.map((kind) => (
        <EveryGroup
          key={kind}
          title={words.others.groups[kind]}
          cards={found.filter((card) => card.kind === kind)}
          answer={answer}
          onChoose={onChoose}
        />
      ))}
    </div>
  );
}

interface GroupProps {
  readonly title: string;
  readonly cards: readonly StepCard[];
  readonly answer: Assessment;
  readonly onChoose: (key: StepKey) => void;
}

function EveryGroup({ title, cards, answer, onChoose }: GroupProps) {
  if (cards.length === 0) return null;
  return (
    <div>
      <h3>{title}</h3>
      <ul class="pegs">
        {cards.map((card) => {
          const not = answer.not_now.find((step) => sameStep(step, card));
          return (
            <li key={card.id}>
              <button type="button" class="peg" onClick={() => onChoose(card)}>
                <span class="peg-name">{card.name}</span>
                <span class="peg-fact">
                  {not ? obstacleText(not) : `${card.sort}, ${words.effort(card.minutes, card.waitHours)}`}
                </span>
              </button>
            </li>
          );
        })}
      </ul>
    </div>
  );
}

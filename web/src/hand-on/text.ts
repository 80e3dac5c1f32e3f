/** A job in a few lines, for a message. */
import { recordLine } from "../catalogue.ts";
import type { Assessment, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import type { Block } from "../engine/study/halfsplit_wasm.js";
import { adviceName } from "../engine-words.ts";
import { stepsOf } from "../job-file.ts";
import { words } from "../words.ts";

/** How many causes are named. */
const NAMED = 4;
const WORTH_NAMING = 0.02;

export function blocksOf(
  machine: MachineFile,
  answer: Assessment,
  job: JobFile,
  url: string,
  note: string,
): Block[] {
  const runs = answer.status === "running";
  const chance = (c: Assessment["causes"][number]): number => (runs ? c.p_was_cause : c.p_cause);
  const likely = answer.causes.filter((c) => chance(c) >= WORTH_NAMING).slice(0, NAMED);
  const found = stepsOf(job).map((step) => recordLine(machine, step));
  const blocks: Block[] = [{ heading: machine.name }];
  if (note.trim() !== "") blocks.push({ line: note });
  if (found.length > 0) blocks.push({ strong: words.handOn.found }, { steps: found });
  if (likely.length > 0) {
    blocks.push(
      { strong: runs ? words.causes.titleAfter : words.handOn.odds },
      { points: likely.map((c) => words.handOn.cause(c.name, chance(c))) },
    );
  }
  if (runs) blocks.push({ strong: words.handOn.runs });
  else if (answer.next) blocks.push({ strong: `${words.handOn.next}: ${adviceName(answer.next)}` });
  blocks.push({ link: [words.handOn.link, url] });
  return blocks;
}

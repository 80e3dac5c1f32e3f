/** The machine descriptions: what the list says of each, and where the whole of it is fetched. */

import { words } from "./words.ts";

/** A line in the list of machines. */
export interface MachineLine {
  readonly id: string;
  readonly name: string;
  readonly about: string;
}

// Three fields of each description are part of the page; the rest is a file of its own, fetched when
// it is wanted.
const from = <T>(files: Record<string, T>): readonly T[] =>
  Object.keys(files)
    .toSorted()
    .map((path) => files[path] as T);

const ids = from(
  import.meta.glob<string>("./engine/machines/*.json", { eager: true, import: "id" }),
);
const names = from(
  import.meta.glob<string>("./engine/machines/*.json", { eager: true, import: "name" }),
);
const abouts = from(
  import.meta.glob<string>("./engine/machines/*.json", { eager: true, import: "about" }),
);

const english: readonly MachineLine[] = ids.map((id, i) => ({
  id,
  name: names[i] ?? id,
  about: abouts[i] ?? "",
}));

/** Every machine, in the language of the page as far as it has words for it. */
export const machineLines = (): readonly MachineLine[] =>
  english.map((line) => Object.assign({}, line, words.machines[line.id]));

/** Name of a machine; its id if there is no such machine. */
export const nameOf = (id: string): string =>
  machineLines().find((line) => line.id === id)?.name ?? id;

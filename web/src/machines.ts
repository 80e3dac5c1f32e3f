/** The list of machines. The full description of a machine is fetched when it is needed. */

import english from "./engine/machines.json";
import type { MachineLine } from "./machine-line.ts";
import { words } from "./words.ts";

/** Every machine, in the language of the page. */
export const machineLines = (): readonly MachineLine[] => words.machines ?? english;

/** Name of a machine; its id if there is no such machine. */
export const nameOf = (id: string): string => machineLines().find((line) => line.id === id)?.name ?? id;

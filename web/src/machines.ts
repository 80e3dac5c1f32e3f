/** The machines there are. The whole description of one is fetched when it is wanted. */

import type { Tool } from "./engine/halfsplit_wasm.js";
import english from "./engine/machines.json";
import { words } from "./words.ts";

/** A line in the list of machines. */
export interface MachineLine {
  readonly id: string;
  readonly name: string;
  readonly about: string;
  /** There at once: what is at hand can be ticked before the description has come. */
  readonly tools: readonly ToolLine[];
}

/** A tool on its board. */
export type ToolLine = Pick<Tool, "id" | "name" | "common">;

/** Every machine, in the language of the page. */
export const machineLines = (): readonly MachineLine[] => words.machines ?? english;

/** Name of a machine; its id if there is no such machine. */
export const nameOf = (id: string): string =>
  machineLines().find((line) => line.id === id)?.name ?? id;

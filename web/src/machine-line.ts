/** A machine in the list of machines. */
import type { Tool } from "./engine/halfsplit_wasm.js";

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

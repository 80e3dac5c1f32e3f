/** A machine in the list of machines. */
import type { Tool } from "./engine/halfsplit_wasm.js";

/** A line in the list of machines. */
export interface MachineLine {
  readonly id: string;
  readonly name: string;
  readonly about: string;
  /** Stands here so that tools can be ticked before the description has loaded. */
  readonly tools: readonly ToolLine[];
}

/** A tool on the tool board. */
export type ToolLine = Pick<Tool, "id" | "name" | "common">;

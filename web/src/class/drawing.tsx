import { Graph as Layout, layout } from "@dagrejs/dagre";
import { line, curveBasis } from "d3-shape";
import { recordText } from "../catalogue.ts";
import type { Graph, Node } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../store/answers.ts";
import { useAnswer } from "../ui/engine-value.ts";
import { Scroll } from "../ui/scroll.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { FOLLOWED, type LessonProps } from "./lesson.tsx";

const NODE_WIDTH = 168;
const LINE_HEIGHT = 19;
/** Letters that fit in a line of a node. */
const LETTERS = 20;

/** The part of the network that a class can follow, drawn from what makes to what is made. */
export function Drawing({ present, description, time }: LessonProps) {
  const steps = stepsOf(present).slice(0, time);
  const asked = useAnswer("graph", { ...present, steps: [...steps] }, FOLLOWED);
  const nameOf = (node: Node): string => {
    if (node.kind === "acting") return words.lesson.acting;
    const step = node.step === null ? undefined : steps[node.step];
    const got = step ? recordText(description, step).got : "";
    if (node.kind === "attempt") return `${(node.step ?? 0) + 1}. ${words.lesson.attempt(got)}`;
    if (node.kind === "finding") return `${(node.step ?? 0) + 1}. ${node.name}: ${got}`;
    return node.p === null ? node.name : `${node.name}, ${words.percent(node.p)}`;
  };
  return (
    <section class="board lesson-board">
      <p>{words.lesson.graphLead}</p>
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      {asked.value && <Picture graph={asked.value} nameOf={nameOf} />}
    </section>
  );
}

interface Props {
  readonly graph: Graph;
  readonly nameOf: (node: Node) => string;
}

function Picture({ graph, nameOf }: Props) {
  const drawn = new Layout({ directed: true });
  drawn.setGraph({ rankdir: "TB", nodesep: 18, ranksep: 46, marginx: 6, marginy: 6 });
  drawn.setDefaultEdgeLabel(() => ({}));
  const texts = new Map(graph.nodes.map((node) => [node.id, linesOf(nameOf(node))]));
  for (const node of graph.nodes) {
    const height = LINE_HEIGHT * (texts.get(node.id)?.length ?? 1) + 18;
    drawn.setNode(node.id, { width: NODE_WIDTH, height });
  }
  for (const { from, to } of graph.edges) drawn.setEdge(from, to);
  layout(drawn);
  const { width = 1, height = 1 } = drawn.graph() as { width?: number; height?: number };
  const curve = line<{ x: number; y: number }>((p) => p.x, (p) => p.y).curve(curveBasis);
  const named = new Map(graph.nodes.map((node) => [node.id, nameOf(node)]));
  return (
    <>
      <Scroll label={words.lesson.tabs.graph}>
        <svg
          class="network"
          aria-hidden="true"
          viewBox={`0 0 ${width} ${height}`}
        >
          <defs>
            <marker id="head" viewBox="0 0 8 8" refX="7" refY="4" markerWidth="7" markerHeight="7" orient="auto">
              <path class="head" d="M0 0L8 4L0 8z" />
            </marker>
          </defs>
          {graph.edges.map(({ from, to }) => (
            <path
              key={`${from} ${to}`}
              class="edge"
              marker-end="url(#head)"
              d={curve(pointsOf(drawn, from, to)) ?? ""}
            />
          ))}
          {graph.nodes.map((node) => {
            const at = drawn.node(node.id) as { x: number; y: number; width: number; height: number };
            const lines = texts.get(node.id) ?? [];
            return (
              <g key={node.id} class={`node node-${node.kind}`}>
                <rect
                  x={at.x - at.width / 2}
                  y={at.y - at.height / 2}
                  width={at.width}
                  height={at.height}
                  rx={node.kind === "cause" ? 0 : 9}
                />
                {lines.map((text, i) => (
                  <text
                    key={text}
                    x={at.x}
                    y={at.y + (i - (lines.length - 1) / 2) * LINE_HEIGHT}
                    dy="0.35em"
                    text-anchor="middle"
                  >
                    {text}
                  </text>
                ))}
              </g>
            );
          })}
        </svg>
      </Scroll>
      <details class="figures-fold">
        <summary>{words.lesson.arrows}</summary>
        <ul class="closing-list">
          {graph.edges.map(({ from, to }) => (
            <li key={`${from} ${to}`}>
              {words.lesson.arrow(named.get(from) ?? from, named.get(to) ?? to)}
            </li>
          ))}
        </ul>
      </details>
    </>
  );
}

function pointsOf(drawn: Layout, from: string, to: string): { x: number; y: number }[] {
  const edge = drawn.edge(from, to) as { points?: { x: number; y: number }[] } | undefined;
  return edge?.points ?? [];
}

/** A text in lines that fit, four at most. */
function linesOf(text: string): string[] {
  const lines: string[] = [];
  for (const word of text.split(" ")) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= LETTERS) {
      lines[lines.length - 1] = `${last} ${word}`;
    } else {
      lines.push(word);
    }
  }
  return lines.length > 4 ? [...lines.slice(0, 3), `${lines[3]} …`] : lines;
}

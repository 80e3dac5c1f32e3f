import { Graph as Layout, layout } from "@dagrejs/dagre";
import { line, curveBasis } from "d3-shape";
import { recordText } from "../catalogue.ts";
import type { Graph, Node } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import { useAnswer } from "../ui/engine-value.ts";
import { Scroll } from "../ui/scroll.tsx";
import { TroubleNote } from "../ui/trouble-note.tsx";
import { words } from "../words.ts";
import { FOLLOWED, type LessonProps } from "./lesson-props.ts";

const LETTER_WIDTH = 9;
const LINE_HEIGHT = 19;
/** Letters in a line of a node, unless a word is longer: narrow nodes leave room for large letters. */
const LETTERS = 12;
/** The most lines that a node has. */
const LINES = 5;

/** The part of the network that a class can follow, drawn from causes to effects. */
export function Drawing({ present, description, time }: LessonProps) {
  const steps = stepsOf(present).slice(0, time);
  const asked = useAnswer("graph", { ...present, steps: [...steps] }, FOLLOWED);
  const textAt = (node: Node): { readonly did: string; readonly got: string } => {
    const step = node.step === null ? undefined : steps[node.step];
    return step ? recordText(description, step) : { did: "", got: "" };
  };
  const nameOf = ([node, ...others]: readonly [Node, ...Node[]]): string => {
    if (node.kind === "acting") return words.lesson.acting;
    const numbers = [node, ...others].map((one) => (one.step ?? 0) + 1).join(", ");
    if (node.kind === "attempt") return `${numbers}. ${words.lesson.attempt(textAt(node).got)}`;
    if (node.kind === "finding") return `${numbers}. ${node.name}: ${textAt(node).got}`;
    return node.p === null ? node.name : `${node.name}, ${words.percent(node.p)}`;
  };
  return (
    <section class="board lesson-board">
      <p>{words.lesson.graphLead}</p>
      {asked.trouble && <TroubleNote trouble={asked.trouble} />}
      {asked.value && <Picture graph={together(asked.value, textAt, nameOf)} />}
    </section>
  );
}

/** The nodes and edges to draw. */
interface Drawn {
  readonly nodes: readonly { readonly id: string; readonly kind: Node["kind"]; readonly name: string }[];
  readonly edges: readonly { readonly from: string; readonly to: string }[];
}

/** The graph with start attempts of the same kind, parents and outcome merged into one node, to save room. */
function together(
  graph: Graph,
  textAt: (node: Node) => { readonly did: string; readonly got: string },
  nameOf: (nodes: readonly [Node, ...Node[]]) => string,
): Drawn {
  const alike = new Map<string, [Node, ...Node[]]>();
  const drawnAs = new Map<string, string>();
  for (const node of graph.nodes) {
    const from = graph.edges.flatMap((edge) => (edge.to === node.id ? [edge.from] : []));
    const key = node.kind === "attempt" ? JSON.stringify([textAt(node), from.toSorted()]) : node.id;
    const others = alike.get(key);
    others?.push(node);
    if (others === undefined) alike.set(key, [node]);
    drawnAs.set(node.id, others?.[0].id ?? node.id);
  }
  const ends = (id: string): string => drawnAs.get(id) ?? id;
  const edges = new Map(
    graph.edges.map((edge) => {
      const [from, to] = [ends(edge.from), ends(edge.to)];
      return [JSON.stringify([from, to]), { from, to }];
    }),
  );
  const nodes = [...alike.values()].map((group) => ({
    id: group[0].id,
    kind: group[0].kind,
    name: nameOf(group),
  }));
  return { nodes, edges: [...edges.values()] };
}

function Picture({ graph }: { readonly graph: Drawn }) {
  const drawn = new Layout({ directed: true });
  drawn.setGraph({ rankdir: "TB", nodesep: 14, ranksep: 40, marginx: 6, marginy: 6 });
  drawn.setDefaultEdgeLabel(() => ({}));
  const letters = Math.max(
    LETTERS,
    ...graph.nodes.flatMap((node) => wordsOf(node.name).map((word) => word.length)),
  );
  const texts = new Map(graph.nodes.map((node) => [node.id, linesOf(node.name, letters)]));
  for (const node of graph.nodes) {
    const height = LINE_HEIGHT * (texts.get(node.id)?.length ?? 1) + 14;
    drawn.setNode(node.id, { width: LETTER_WIDTH * letters, height });
  }
  for (const { from, to } of graph.edges) drawn.setEdge(from, to);
  layout(drawn);
  const { width = 1, height = 1 } = drawn.graph() as { width?: number; height?: number };
  const curve = line<{ x: number; y: number }>(
    (p) => p.x,
    (p) => p.y,
  ).curve(curveBasis);
  const named = new Map(graph.nodes.map((node) => [node.id, node.name]));
  return (
    <>
      <Scroll label={words.lesson.tabs.graph}>
        <svg class="network" aria-hidden="true" viewBox={`0 0 ${width} ${height}`}>
          <defs>
            <marker
              id="head"
              viewBox="0 0 8 8"
              refX="7"
              refY="4"
              markerWidth="7"
              markerHeight="7"
              orient="auto"
            >
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
            <li key={`${from} ${to}`}>{words.lesson.arrow(named.get(from) ?? from, named.get(to) ?? to)}</li>
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

const wordsOf = (text: string): string[] => text.split(" ");

/** The text broken into at most LINES lines of `letters` letters. */
function linesOf(text: string, letters: number): string[] {
  const lines: string[] = [];
  for (const word of wordsOf(text)) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= letters) {
      lines[lines.length - 1] = `${last} ${word}`;
    } else {
      lines.push(word);
    }
  }
  return lines.length > LINES ? [...lines.slice(0, LINES - 1), `${lines[LINES - 1]} …`] : lines;
}

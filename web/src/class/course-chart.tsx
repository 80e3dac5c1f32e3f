import { scaleLinear } from "d3-scale";
import { curveStepAfter, line } from "d3-shape";
import { useState } from "preact/hooks";
import { Scroll } from "../ui/scroll.tsx";
import { StampChoice } from "../ui/stamp-choice.tsx";
import { words } from "../words.ts";
import type { LessonProps } from "./lesson-props.ts";

type Scale = "percent" | "log";

const WIDTH = 960;
const HEIGHT = 430;
const LEFT = 74;
const RIGHT = 250;
const TOP = 16;
const BOTTOM = 40;
/** Largest log-odds that the chart shows, in decibans: a million to one. */
const FAR = 60;
/** Dash patterns: they tell the lines apart without colour. */
const STROKES = ["none", "14 6", "4 5", "18 5 4 5", "2 8"];
/** Least distance between the names beside the lines. */
const NAMES_APART = 24;
const NAME_LENGTH = 26;

const decibans = (p: number): number => Math.min(Math.max(10 * Math.log10(p / (1 - p)), -FAR), FAR);

/** The odds of the most likely causes over the steps, as a chart and as a table. */
export function CourseChart({ causes, course, time }: LessonProps) {
  const [scale, setScale] = useState<Scale>("percent");
  const value = (p: number): number => (scale === "percent" ? p * 100 : decibans(p));
  const all = causes.flatMap((c) => c.p.map(value));
  const domain = scale === "percent" ? [0, 100] : [Math.min(-20, ...all), Math.max(10, ...all)];
  const x = scaleLinear([0, Math.max(1, course.times - 1)], [LEFT, WIDTH - RIGHT]);
  const y = scaleLinear(domain, [HEIGHT - BOTTOM, TOP]);
  const path = line<number>(
    (_, i) => x(i),
    (p) => y(value(p)),
  ).curve(curveStepAfter);
  const names = apart(causes.map((c) => y(value(c.p[time] ?? 0))));
  return (
    <section class="board lesson-board" aria-label={words.lesson.tabs.odds}>
      <StampChoice
        legend={words.lesson.scale}
        columns={2}
        options={[
          { value: "percent", name: words.lesson.percent },
          { value: "log", name: words.lesson.logOdds },
        ]}
        value={scale}
        onChange={setScale}
      />
      <Scroll label={words.lesson.chart}>
        <svg class="chart" viewBox={`0 0 ${WIDTH} ${HEIGHT}`} aria-hidden="true">
          {y.ticks(5).map((tick) => (
            <g key={tick}>
              <line class="rule" x1={LEFT} x2={WIDTH - RIGHT} y1={y(tick)} y2={y(tick)} />
              <text class="tick" x={LEFT - 10} y={y(tick)} dy="0.35em" text-anchor="end">
                {scale === "percent" ? words.percent(tick / 100) : words.count(tick)}
              </text>
            </g>
          ))}
          {Array.from({ length: course.times }, (_, i) => (
            <text key={i} class="tick" x={x(i)} y={HEIGHT - 12} text-anchor="middle">
              {i}
            </text>
          ))}
          <line class="now" x1={x(time)} x2={x(time)} y1={TOP} y2={HEIGHT - BOTTOM} />
          {causes.map((cause, i) => (
            <g key={`${cause.part}/${cause.condition}`} class={i === 0 ? "course leader" : "course"}>
              <path d={path(cause.p.slice(0, time + 1)) ?? ""} stroke-dasharray={STROKES[i]} />
              <circle cx={x(time)} cy={y(value(cause.p[time] ?? 0))} r={6} />
              <text x={WIDTH - RIGHT + 14} y={names[i]} dy="0.35em">
                {short(cause.name)}
              </text>
            </g>
          ))}
        </svg>
      </Scroll>
      <details class="figures-fold">
        <summary>{words.lesson.table}</summary>
        <Scroll label={words.lesson.table}>
          <table class="figures">
            <caption class="unseen">{words.lesson.chart}</caption>
            <thead>
              <tr>
                <th scope="col">{words.lesson.cause}</th>
                {Array.from({ length: course.times }, (_, i) => (
                  <th key={i} scope="col">
                    {i === 0 ? words.lesson.before : words.lesson.step(i)}
                  </th>
                ))}
              </tr>
            </thead>
            <tbody>
              {causes.map((cause) => (
                <tr key={`${cause.part}/${cause.condition}`}>
                  <th scope="row">{cause.name}</th>
                  {cause.p.map((p, i) => (
                    <td key={i}>
                      {words.percent(p)}
                      {scale === "log" && ` (${words.count(Math.round(decibans(p)))})`}
                    </td>
                  ))}
                </tr>
              ))}
            </tbody>
          </table>
        </Scroll>
      </details>
    </section>
  );
}

/** A name cut to the room beside the lines. */
const short = (name: string): string =>
  name.length <= NAME_LENGTH ? name : `${name.slice(0, NAME_LENGTH - 1).trimEnd()}…`;

/** The heights of the names, moved apart in the same order; none lies below the foot of the chart. */
function apart(heights: readonly number[]): number[] {
  const order = heights.map((_, i) => i).toSorted((a, b) => (heights[a] ?? 0) - (heights[b] ?? 0));
  const out = [...heights];
  let least = TOP;
  for (const i of order) {
    const height = Math.max(heights[i] ?? 0, least);
    out[i] = height;
    least = height + NAMES_APART;
  }
  let most = HEIGHT - BOTTOM;
  for (const i of order.toReversed()) {
    out[i] = Math.min(out[i] ?? most, most);
    most = out[i] - NAMES_APART;
  }
  return out;
}

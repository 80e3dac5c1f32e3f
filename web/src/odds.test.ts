import assert from "node:assert/strict";
import { test } from "node:test";
import { moved, nearestOdds } from "./odds.ts";

// Expected values: the fraction nearest in log-odds among those listed in odds.ts, by hand.
test("a chance becomes the nearest fraction that reads well", () => {
  const cases: [number, string][] = [
    [0.5, "1/2"],
    [0.47, "1/2"],
    [0.34, "1/3"],
    [0.41, "2/5"],
    [0.1, "1/10"],
    [0.0051, "1/200"],
    [0.66, "2/3"],
    [0.59, "3/5"],
    [0.9, "9/10"],
    [0.975, "39/40"],
    [0.001, "1/1000"],
    [0.999, "999/1000"],
  ];
  for (const [p, expected] of cases) {
    const odds = nearestOdds(p);
    assert.ok(odds, `${p} has no odds`);
    assert.equal(`${odds.in}/${odds.of}`, expected, `for ${p}`);
  }
});

test("a fraction is never further off than its neighbour in the list allows", () => {
  // Neighbours differ by at most a factor of 2 in odds, so half of that, sqrt(2), bounds the error.
  for (let p = 0.001; p <= 0.999; p += 0.0007) {
    const odds = nearestOdds(p);
    assert.ok(odds);
    const said = odds.in / (odds.of - odds.in);
    const factor = said / (p / (1 - p));
    assert.ok(factor < Math.SQRT2 * 1.01 && factor > Math.SQRT1_2 / 1.01, `${p}: off by ${factor}`);
  }
});

test("beyond one in a thousand, and for what is no chance, there is no fraction", () => {
  for (const p of [0, 1, 0.0009, 0.9995, Number.NaN, -0.1, 1.1]) {
    assert.equal(nearestOdds(p), undefined, `for ${p}`);
  }
});

test("half a percent is the least move worth showing", () => {
  assert.equal(moved(0.1, 0.104), false);
  assert.equal(moved(0.1, 0.106), true);
});

import assert from "node:assert/strict";
import { test } from "node:test";
import { number, percent, writeAs } from "./say.ts";

test("percent never rounds a chance to never or always", () => {
  assert.equal(percent(0), "0\u202f%");
  assert.equal(percent(1), "100\u202f%");
  assert.equal(percent(0.0004), "<0.1\u202f%");
  assert.equal(percent(0.9996), ">99.9\u202f%");
  assert.equal(percent(0.0062), "0.6\u202f%");
  assert.equal(percent(0.0095), "1\u202f%");
  assert.equal(percent(0.344), "34\u202f%");
  assert.equal(percent(0.9906), "99.1\u202f%");
  assert.equal(percent(0.996), "99.6\u202f%");
});

test("numbers follow the language", () => {
  // The forms of the Unicode CLDR, as Node's Intl has them.
  writeAs("de");
  assert.equal(percent(0.0062), "0,6\u202f%");
  assert.equal(number(12345), "12.345");
  writeAs("en");
  assert.equal(number(12345), "12,345");
});

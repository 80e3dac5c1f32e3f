// The size of the page's download, which must stay within bounds.

import { readdirSync, readFileSync } from 'node:fs';
import { brotliCompressSync, gzipSync } from 'node:zlib';
import { button } from './bench.ts';
import { expect, test } from './quiet.ts';

const DIST = new URL('../../web/dist/', import.meta.url);

/** Size in bytes as sent to browsers that accept brotli. */
const brotli = (name: string): number => brotliCompressSync(readFileSync(new URL(name, DIST))).length;

test('there are three engines, and the bench waits for one of at most 300 kB', () => {
  const engines = readdirSync(new URL('assets/', DIST)).filter((name) => name.endsWith('.wasm'));
  expect(engines).toHaveLength(3);
  for (const engine of engines) expect(brotli(`assets/${engine}`), engine).toBeLessThanOrEqual(360_000);
  // The bench waits for one of two engines, with or without SIMD.
  const awaited = engines.filter((name) => brotli(`assets/${name}`) <= 300_000);
  expect(awaited).toHaveLength(2);
  expect(awaited.some((name) => name.includes('simd'))).toBe(true);
});

test('the first screen weighs at most 500 kB even in gzip, and fetches nothing for other screens', async ({
  page,
  traffic,
}) => {
  await page.goto('/');
  await expect(button(page, 'Start this job')).toBeEnabled();
  await expect.poll(() => traffic.asked.filter((url) => url.endsWith('.wasm')).length).toBe(1);
  const names = new Set(traffic.asked.map((url) => new URL(url).pathname.slice(1) || 'index.html'));
  expect([...names].filter((name) => /lesson|hand-on|sheet-|de-/.test(name))).toEqual([]);
  const engines = [...names].filter((name) => name.endsWith('.wasm'));
  expect(engines).toHaveLength(1);
  // The engine that every user waits for.
  expect(brotli(engines[0] ?? '')).toBeLessThanOrEqual(300_000);
  const weights = [...names].map((name) => gzipSync(readFileSync(new URL(name, DIST)), { level: 9 }).length);
  expect(weights.reduce((sum, one) => sum + one, 0)).toBeLessThanOrEqual(500_000);
});

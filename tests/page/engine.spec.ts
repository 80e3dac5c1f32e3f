// The engine in its own thread, and recovery from its failures.

import { readdirSync, readFileSync } from 'node:fs';
import type { Page } from '@playwright/test';
import {
  beforeWorker,
  button,
  causes,
  choose,
  DEMO_STEPS,
  holdableAdvice,
  lines,
  nextStep,
  odds,
  openDemo,
  settled,
  shows,
  tap,
  trouble,
  WORKER,
} from './bench.ts';
import { expect, test, type Traffic } from './quiet.ts';

/** A step with results, whatever the advice is. */
const STEP = 'Look down at the keyway';

/** Script for the worker that runs `does` instead of every call of `advise`. */
const insteadOfAdvice = (does: string): string =>
  `self.addEventListener("message", (event) => {
     if (event.data.call !== "advise") return;
     event.stopImmediatePropagation();
     ${does}
   });`;

/** Checks that the demo job is shown and can be retried after the engine failed while opening it. */
async function recovers(page: Page, why: string): Promise<void> {
  await expect(trouble(page)).toContainText(`The engine stopped: ${why}. Your job is as you left it`);
  await expect(lines(page)).toHaveCount(DEMO_STEPS);
  await button(trouble(page), 'Try again').click();
  await settled(page, DEMO_STEPS);
  await expect(nextStep(page)).toBeVisible();
  await expect(trouble(page)).toHaveCount(0);
  await expect(causes(page).locator('[data-cause]').first()).toHaveAttribute(
    'data-cause',
    'stop-lead/grounded',
  );
}

test('the page keeps moving while the engine thinks', async ({ page }) => {
  const { hold, started } = await holdableAdvice(page);
  await openDemo(page);
  await choose(page, STEP);
  expect(page.workers()).toHaveLength(1);
  const release = hold();
  const asked = page.waitForRequest('**/held');
  await nextStep(page).locator('.stub-name').last().click();
  await asked;
  // If the engine ran on the page's thread, no frame would be drawn here.
  await page.evaluate(async (frames) => {
    for (let n = 0; n < frames; n += 1) await new Promise(requestAnimationFrame);
  }, 30);
  await expect(page.getByRole('main')).toHaveAttribute('aria-busy', 'true');
  await expect(nextStep(page).locator('.stub-name').first()).toBeDisabled();
  release();
  await settled(page, DEMO_STEPS + 1);
  expect(started()).toBe(1);
});

test('a browser that computes two numbers at once gets the engine for it, another the plain one', async ({
  page,
  traffic,
}) => {
  const engines = () => traffic.asked.flatMap((url) => /halfsplit_wasm_[a-z]+/.exec(url)?.[0] ?? []);
  let old = false;
  await beforeWorker(page, 'WebAssembly.validate = () => false;', () => old);
  await openDemo(page);
  expect(engines()).toEqual(['halfsplit_wasm_simd']);
  const said = await odds(page);
  traffic.asked.length = 0;
  old = true;
  await page.reload();
  await settled(page, DEMO_STEPS);
  expect(engines()).toEqual(['halfsplit_wasm_bg']);
  await shows(page, said);
});

test('both engines of the bench say the same to the last bit', async () => {
  const at = (path: string) => new URL(`../../${path}`, import.meta.url);
  const started = async (file: string) => {
    const engine = await import(`${at('web/src/engine/halfsplit_wasm.js').href}?${file}`);
    engine.initSync({ module: readFileSync(at(`web/src/engine/${file}`)) });
    return engine;
  };
  const engines = [await started('halfsplit_wasm_bg.wasm'), await started('halfsplit_wasm_simd.wasm')];
  const jobs = at('core/examples/jobs/worked/');
  let compared = 0;
  for (const name of readdirSync(jobs)) {
    const machine = readFileSync(at(`web/src/engine/machines/${name}`), 'utf8');
    engines.forEach((engine) => engine.load_machine(machine));
    for (const { title, job } of JSON.parse(readFileSync(new URL(name, jobs), 'utf8'))) {
      const [plain, two] = engines.map((engine) =>
        JSON.stringify(new engine.AdviceSession(job).assessment()),
      );
      expect(two, title).toBe(plain);
      compared += 1;
    }
  }
  expect(compared).toBeGreaterThan(30);
});

test('two taps at once are one finding', async ({ page }) => {
  await openDemo(page);
  await choose(page, STEP);
  await nextStep(page).locator('.stub-name').first().dblclick();
  await settled(page, DEMO_STEPS + 1);
  await button(page, 'Undo').click();
  await settled(page, DEMO_STEPS);
});

test('an engine that breaks is started afresh, and the job is still there', async ({ page }) => {
  const started = await beforeWorker(
    page,
    insteadOfAdvice('throw new Error("broken on purpose");'),
    (n) => n === 0,
  );
  await page.goto('/');
  await button(page, 'Open the demo job').click();
  await recovers(page, 'Uncaught Error: broken on purpose');
  expect(started()).toBe(2);
});

test('an engine that runs out of memory in the middle of a job loses nothing', async ({ page }) => {
  // A WebAssembly trap is reported as a fault, and the page discards the engine's memory.
  let breaks = false;
  const trap = insteadOfAdvice('self.postMessage({ id: event.data.id, fault: "unreachable" });');
  await beforeWorker(page, trap, () => breaks);
  await openDemo(page);
  const before = await odds(page);
  breaks = true;
  await page.reload();
  await expect(trouble(page)).toContainText('The engine stopped: unreachable.');
  breaks = false;
  await button(trouble(page), 'Try again').click();
  await settled(page, DEMO_STEPS);
  await shows(page, before);
  await choose(page, STEP);
  await tap(page, 'in line');
});

test('an engine that never answers is given up after a minute', async ({ page }) => {
  await page.clock.install();
  await beforeWorker(page, insteadOfAdvice(''), (n) => n === 0);
  await page.goto('/');
  await button(page, 'Open the demo job').click();
  await expect(button(page, 'Open the demo job')).toBeDisabled();
  await page.clock.fastForward(61_000);
  await recovers(page, 'it gave no answer in a minute');
});

/** Fails the first request for a file, as a bad connection does. */
async function failOnce(page: Page, traffic: Traffic, file: RegExp): Promise<void> {
  traffic.expected.push(/net::ERR_(FAILED|ABORTED)/);
  let failed = false;
  await page.route(file, async (route) => {
    if (failed) return route.continue();
    failed = true;
    return route.abort();
  });
}

test('a worker that does not load is fetched once more, and nobody notices', async ({ page, traffic }) => {
  await failOnce(page, traffic, WORKER);
  await openDemo(page);
  await expect(trouble(page)).toHaveCount(0);
});

test('a page whose WebAssembly does not load says so, and loads at the second try', async ({
  page,
  traffic,
}) => {
  await failOnce(page, traffic, /\.wasm$/);
  await page.goto('/');
  await button(page, 'Open the demo job').click();
  await expect(trouble(page)).toContainText('The engine stopped');
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
});

// Helpers that act and read at the bench as a user does, by the page's own words.

import { expect, type Locator, type Page } from '@playwright/test';

export const nextStep = (page: Page): Locator => page.getByTestId('next-step');
export const causes = (page: Page): Locator => page.getByTestId('causes');
export const findings = (page: Page): Locator => page.getByTestId('findings');
export const closing = (page: Page): Locator => page.getByTestId('closing');
export const ahead = (page: Page): Locator => page.getByTestId('looking-ahead');
export const trouble = (page: Page): Locator => page.getByTestId('trouble');
export const button = (page: Page | Locator, name: string): Locator =>
  page.getByRole('button', { name, exact: true });

/** The lines of the findings, in order. */
export const lines = (page: Page): Locator => findings(page).locator('.sheet-line');

/** Number of steps in the demo job. */
export const DEMO_STEPS = 14;

/** Waits until `count` steps are recorded and their answer is shown. */
export async function settled(page: Page, count: number): Promise<void> {
  await expect(lines(page)).toHaveCount(count);
  await expect(page.getByRole('main')).toHaveAttribute('aria-busy', 'false');
}

export async function openDemo(page: Page): Promise<void> {
  await page.goto('/');
  await button(page, 'Open the demo job').click();
  await settled(page, DEMO_STEPS);
}

interface JobFile {
  readonly machine: string;
  readonly steps: readonly unknown[];
}

/** Opens a job by its file, at the first screen. */
export async function loadJob(page: Page, job: JobFile): Promise<void> {
  const file = { name: 'job.json', mimeType: 'application/json', buffer: Buffer.from(JSON.stringify(job)) };
  await page.locator('input[type=file]').setInputFiles(file);
  await settled(page, job.steps.length);
}

/** Opens the page with a job. */
export async function openJob(page: Page, job: JobFile): Promise<void> {
  await page.goto('/');
  await loadJob(page, job);
}

/** Makes the window as high as the page. The height of content out of view is estimated until it is shown. */
export async function asHighAsThePage(page: Page): Promise<void> {
  const { width = 0 } = page.viewportSize() ?? {};
  const high = () => page.evaluate(() => document.documentElement.scrollHeight);
  // The second time all content is in view and measured.
  for (let time = 0; time < 2; time += 1) {
    await page.setViewportSize({ width, height: (await high()) + 100 });
    await page.evaluate(
      () => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(drawn))),
    );
  }
}

/** Starts a job on a machine that did not fire at all, with every tool there is at hand. */
export async function startJob(page: Page): Promise<void> {
  await page.goto('/');
  await page.getByText('Nothing at all', { exact: true }).click();
  await button(page, 'All of them').click();
  await button(page, 'Start this job').click();
  await settled(page, 1);
}

/** Presses the Tab key until an element has the focus. */
export async function tabTo(page: Page, target: Locator, key = 'Tab'): Promise<void> {
  for (let i = 0; i < 120; i += 1) {
    await page.keyboard.press(key);
    if (await target.evaluate((element) => element === document.activeElement)) return;
  }
  await expect(target).toBeFocused({ timeout: 1 });
}

/** Opens the list of every step. */
export async function openEveryStep(page: Page): Promise<Locator> {
  const field = page.getByRole('searchbox', { name: 'Find a check, bypass, repair or try' });
  if (!(await field.isVisible())) await button(page, 'Do something else').click();
  await expect(field).toBeFocused();
  return page.locator('.every');
}

/** Chooses a step from the list of all steps. */
export async function choose(page: Page, name: string): Promise<void> {
  const every = await openEveryStep(page);
  await page.getByRole('searchbox').fill(name);
  await every
    .locator('.peg')
    .filter({ has: page.getByText(name, { exact: true }) })
    .click();
  await expect(nextStep(page).getByRole('heading', { name, exact: true })).toBeVisible();
}

/** Taps a result of the step in view. */
export async function tap(page: Page, result: string): Promise<void> {
  const count = await lines(page).count();
  await button(nextStep(page), result).click();
  await settled(page, count + 1);
}

/**
 * The odds of every cause as the board shows them. Percentages are compared as shown: two jobs that
 * show the same ones are the same to the user.
 */
export async function odds(page: Page): Promise<Record<string, string>> {
  // The answer may not have arrived yet, although no step is being recorded.
  await expect(causes(page).locator('[data-cause]').first()).toBeVisible();
  const all = page.getByRole('button', { name: /^Show all / });
  if (await all.isVisible()) await all.click();
  await expect(button(page, 'Show the likeliest')).toBeVisible();
  const shown = await causes(page)
    .locator('[data-cause]')
    .evaluateAll((items) =>
      items.map((item): [string, string] => [
        item.getAttribute('data-cause') ?? '',
        [...item.querySelectorAll('.cause-percent, .cause-more > span:last-of-type')]
          .map((e) => e.textContent)
          .join('; '),
      ]),
    );
  expect(shown.length).toBeGreaterThan(40);
  return Object.fromEntries(shown);
}

/** Waits until the board shows these odds. */
export async function shows(page: Page, expected: Record<string, string>): Promise<void> {
  await expect.poll(() => odds(page)).toEqual(expected);
}

/** The number of a percentage as the page writes it; "<" and ">" stand for below 0.1 and above 99.9. */
export function percentage(text: string): number {
  const found = /([<>]?)([\d.]+)\u202f%/.exec(text);
  if (found === null) throw new Error(`"${text}" is no percentage`);
  return Number(found[2]) + { '': 0, '<': -0.05, '>': 0.05 }[found[1] as '' | '<' | '>'];
}

/** The chance that a cause is the reason, in percent, as the board shows it. */
export async function chance(page: Page, cause: string): Promise<number> {
  return percentage((await odds(page))[cause] ?? '');
}

/** Opens the only other job on the shelf. */
export async function takeUp(page: Page): Promise<void> {
  await button(page, 'Another job').click();
  await page
    .getByTestId('shelf')
    .getByRole('button', { name: /^Take up: / })
    .click();
}

/** Changes the text of every job in the browser's database without the page's knowledge. */
export async function rewriteKept(page: Page, from: string, to: string): Promise<void> {
  const changed = await page.evaluate(
    async ([old, put]) => {
      const done = <T>(request: IDBRequest<T>) =>
        new Promise<T>((resolve, reject) => {
          request.onsuccess = () => resolve(request.result);
          request.onerror = () => reject(request.error);
        });
      const db = await done(indexedDB.open('halfsplit'));
      const jobs = db.transaction('jobs', 'readwrite').objectStore('jobs');
      let count = 0;
      for (const job of await done(jobs.getAll())) {
        const text = JSON.stringify(job);
        const other = text.replaceAll(old ?? '', put ?? '');
        if (other !== text) count += 1;
        await done(jobs.put(JSON.parse(other)));
      }
      db.close();
      return count;
    },
    [from, to],
  );
  expect(changed).toBeGreaterThan(0);
}

/** The worker of the bench. */
export const WORKER = /\/assets\/worker-[\w-]+\.js$/;

/**
 * Serves the worker with `script` before its own code; `when` says for which of the workers that the
 * page starts, counted from 0. Returns a function that tells how many were started.
 */
export async function beforeWorker(
  page: Page,
  script: string,
  when: (n: number) => boolean,
): Promise<() => number> {
  let count = 0;
  await page.route(WORKER, async (route) => {
    const answer = await route.fetch();
    const own = await answer.text();
    await route.fulfill({ response: answer, body: when(count++) ? `${script}\n${own}` : own });
  });
  return () => count;
}

/**
 * Makes the worker block in `advise` as long as a test wants, so that the test does not depend on speed. `hold` makes
 * the coming calls wait and returns the function that releases them; `started` counts the workers.
 */
export async function holdableAdvice(
  page: Page,
): Promise<{ readonly hold: () => () => void; readonly started: () => number }> {
  let held = Promise.resolve();
  await page.route('**/held', async (route) => {
    await held;
    await route.fulfill({ body: '' });
  });
  const waits = `self.addEventListener("message", (event) => {
    if (event.data.call !== "advise") return;
    const request = new XMLHttpRequest();
    request.open("GET", "/held", false);
    request.send();
  });`;
  const started = await beforeWorker(page, waits, () => true);
  const hold = (): (() => void) => {
    let release = (): void => {};
    held = new Promise((resolve) => (release = resolve));
    return release;
  };
  return { hold, started };
}

/** Makes the first answer about a job advise the next check of its ranking; the lookahead then corrects it. */
export const WRONG_AT_FIRST = `const post = self.postMessage.bind(self);
  self.postMessage = (reply) => {
    const answer = reply.value;
    if (answer?.ranking && answer.lookahead.rounds === 0) {
      const other = answer.ranking.find((step, i) => i > 0 && step.kind === "check");
      answer.ranking = [other, ...answer.ranking.filter((step) => step !== other)];
      answer.next = other;
    }
    post(reply);
  };`;

/**
 * Makes every piece of the lookahead take `ms` milliseconds; the worker answers other calls meanwhile. It runs
 * `script` before its own code.
 */
export async function lookingSlowly(page: Page, ms: number, script = ''): Promise<void> {
  const wait = `self.addEventListener("message", (event) => {
    if (event.data.call !== "look_ahead" || event.data.late) return;
    event.stopImmediatePropagation();
    const data = { ...event.data, late: true };
    setTimeout(() => self.dispatchEvent(new MessageEvent("message", { data })), ${ms});
  });`;
  await beforeWorker(page, `${script}\n${wait}`, () => true);
}

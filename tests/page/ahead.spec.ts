// The lookahead: a first answer at once, and a better one later. The prefetch: answers before the tap.

import { answers } from './advice.ts';
import {
  ahead,
  button,
  choose,
  lines,
  lookingSlowly,
  nextStep,
  openDemo,
  openJob,
  settled,
  startJob,
  WRONG_AT_FIRST,
} from './bench.ts';
import { expect, test } from './quiet.ts';
import type { Locator, Page } from '@playwright/test';

const bar = (page: Page): Locator => ahead(page).getByRole('progressbar', { name: 'Looking further ahead' });

const JOB = { machine: 'mower-recoil', steps: [{ do: 'attempt', outcome: 'nothing' }] };

/** The step that a wrong first answer advises, and the one that the lookahead comes to. */
function firstAndLast() {
  const { first, last } = answers(JOB);
  const other = first.ranking.find(({ kind }, i) => i > 0 && kind === 'check');
  if (other === undefined || other.id === last.next.id) throw new Error('the first answer is not wrong');
  return [other, last.next] as const;
}

/** The progress of the lookahead. */
const done = async (page: Page): Promise<number> => Number(await bar(page).getAttribute('value'));

test('looking ahead goes on in the background, can be broken off, and taken up again', async ({ page }) => {
  await lookingSlowly(page, 150);
  await openDemo(page);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'false');
  await expect(nextStep(page)).toBeVisible();
  const before = await done(page);
  await expect.poll(() => done(page)).toBeGreaterThan(before);
  await button(ahead(page), 'That is enough').click();
  await expect(ahead(page)).toContainText('Broken off after');
  const so = await ahead(page).textContent();
  // Time for several pieces of the lookahead.
  await page.waitForTimeout(600);
  expect(await ahead(page).textContent()).toBe(so);
  await button(ahead(page), 'Look further').click();
  await expect(ahead(page)).toContainText('looks in all');
  await expect(bar(page)).toHaveCount(0);
});

test('a result is taken at once while it looks ahead, and the next step is looked at in its turn', async ({
  page,
}) => {
  await lookingSlowly(page, 1000);
  await startJob(page);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'false');
  const count = await lines(page).count();
  await nextStep(page).locator('.stub-name').first().click();
  await settled(page, count + 1);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'false');
});

test('a better answer takes the place of the first, and says what gave way', async ({ page }) => {
  const [first, last] = firstAndLast();
  await lookingSlowly(page, 100, WRONG_AT_FIRST);
  await openJob(page, JOB);
  await expect(nextStep(page)).toHaveAttribute('data-step', first.id);
  await expect(ahead(page)).toHaveAttribute('data-settled', 'true', { timeout: 20_000 });
  await expect(nextStep(page)).toHaveAttribute('data-step', last.id);
  await expect(nextStep(page)).toContainText(`this comes before: ${first.name}.`);
  // The page shows beside the answer how far it can be trusted.
  await expect(page.getByTestId('still-to-come')).toContainText(
    /\d+\s%\sof the odds lie with several causes at once/,
  );
});

test('what is half entered stays in view, and the better step is one tap away', async ({ page }) => {
  const [first, last] = firstAndLast();
  await lookingSlowly(page, 100, WRONG_AT_FIRST);
  await openJob(page, JOB);
  await expect(nextStep(page)).toHaveAttribute('data-step', first.id);
  await nextStep(page).getByText('Not sure', { exact: true }).click();
  await expect(ahead(page)).toHaveAttribute('data-settled', 'true', { timeout: 20_000 });
  await expect(nextStep(page)).toHaveAttribute('data-step', first.id);
  await expect(nextStep(page).getByRole('radio', { name: 'Not sure' })).toBeChecked();
  await button(nextStep(page), 'Back to the advised step').click();
  await expect(nextStep(page)).toHaveAttribute('data-step', last.id);
});

test('what a result or a typed number would lead to is worked out before it is recorded', async ({
  page,
}) => {
  await page.addInitScript(() => {
    const calls = { asked: [] as string[], waiting: 0 };
    Object.assign(window, { calls });
    window.Worker = class extends Worker {
      constructor(url: string | URL, options?: WorkerOptions) {
        super(url, options);
        this.addEventListener('message', () => (calls.waiting -= 1));
      }
      override postMessage(message: { call: string; args: readonly [{ steps?: readonly unknown[] }] }): void {
        calls.waiting += 1;
        calls.asked.push(`${message.call} ${JSON.stringify(message.args[0].steps?.at(-1))}`);
        super.postMessage(message);
      }
    };
  });
  const calls = () =>
    page.evaluate(() => (window as unknown as { calls: { asked: string[]; waiting: number } }).calls);
  /** The calls with this number and provenance, once the engine has answered all calls; empty until then. */
  const asked = async (number: string, known?: string) => {
    const { asked, waiting } = await calls();
    const found = asked.filter((one) => one.includes(number) && (known === undefined || one.includes(known)));
    return waiting === 0 ? found.map((one) => one.split(' ')[0]) : [];
  };
  await startJob(page);
  await choose(page, 'Compression gauge, pulled by rope');
  await nextStep(page).getByRole('textbox', { name: 'Reading' }).fill('24');
  await expect.poll(() => asked('"value":24,')).toEqual(['advise']);
  await nextStep(page).getByText('Told', { exact: true }).click();
  await expect.poll(() => asked('"value":24,', '"told"')).toEqual(['advise']);
  await expect.poll(() => asked('"result":', '"told"')).toContain('advise');
  await button(page, 'Record the reading').click();
  await settled(page, 2);
  // The next call is the lookahead: the answer itself was prefetched.
  await expect
    .poll(async () => (await asked('"value":24,', '"told"')).slice(0, 2))
    .toEqual(['advise', 'look_ahead']);
});

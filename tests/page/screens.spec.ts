// Takes screenshots of the page for review, in tests/artefacts/screens and in the report.

import type { Page } from '@playwright/test';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { shrink } from '../scripts/png.mjs';
import {
  asHighAsThePage,
  button,
  choose,
  closing,
  DEMO_STEPS,
  nextStep,
  openDemo,
  settled,
} from './bench.ts';
import { expect, test } from './quiet.ts';

const FOLDER = fileURLToPath(new URL('../artefacts/screens/', import.meta.url));

for (const colorScheme of ['light', 'dark'] as const) {
  test(`pictures in ${colorScheme}`, async ({ page }, info) => {
    await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    const picture = async (name: string) => {
      await fits(page);
      // The window is as high as the page, so that the bar at the foot of a phone covers nothing.
      const { width = 0, height = 0 } = page.viewportSize() ?? {};
      await asHighAsThePage(page);
      const path = `${FOLDER}${name}-${colorScheme}-${info.project.name}.png`;
      const body = await page.screenshot({ path, scale: 'css' });
      expect(body.byteLength).toBeGreaterThan(10_000);
      await info.attach(name, { path, contentType: 'image/png' });
      await page.setViewportSize({ width, height });
    };
    await page.goto('/');
    await expect(button(page, 'Open the demo job')).toBeVisible();
    await picture('intake');
    await openDemo(page);
    await picture('bench');
    await choose(page, 'Mend the stop lead');
    await button(nextStep(page), 'Done').click();
    await settled(page, DEMO_STEPS + 1);
    await button(nextStep(page), 'Starts and keeps running').click();
    await expect(closing(page)).toBeVisible();
    await picture('closing');
    for (const [name, open] of others) {
      await open(page);
      await picture(name);
    }
  });
}

/** The other screens in order, starting from the bench. */
const others: readonly [string, (page: Page) => Promise<unknown>][] = [
  [
    'hand-on',
    async (page) => {
      await button(page, 'Hand on').click();
      await expect(page.locator('.code')).toBeVisible();
      await expect(page.locator('.paste-text')).toHaveValue(/#j=2/);
    },
  ],
  [
    'sheet',
    async (page) => {
      await button(page, 'Work sheet').click();
      await expect(page.getByTestId('sheet')).toBeVisible();
    },
  ],
  [
    'lesson-odds',
    async (page) => {
      await button(page, 'Back to the bench').click();
      await button(page, 'In class').click();
      await expect(page.locator('.chart')).toBeVisible();
    },
  ],
  [
    'lesson-step',
    async (page) => {
      await button(page, 'One step').click();
      await expect(page.locator('.factor-form')).toBeVisible();
    },
  ],
  [
    'lesson-why',
    async (page) => {
      await page.locator('.lesson-tabs').getByRole('button', { name: 'Why', exact: true }).click();
      await expect(page.getByTestId('why').getByRole('table').first()).toBeVisible();
    },
  ],
  [
    'lesson-graph',
    async (page) => {
      await button(page, 'What hangs on what').click();
      await expect(page.locator('.network')).toBeVisible();
    },
  ],
  [
    'lesson-suppose',
    async (page) => {
      await button(page, 'What if').click();
      await expect(page.locator('tr[data-cause] td').last()).toContainText('%');
    },
  ],
  [
    'shelf',
    async (page) => {
      await button(page, 'Back to the bench').click();
      await button(page, 'Another job').click();
      await button(page, 'Open the demo job').click();
      await settled(page, DEMO_STEPS);
      await button(page, 'Another job').click();
      await expect(page.getByTestId('shelf')).toBeVisible();
    },
  ],
  [
    'exercise',
    async (page) => {
      await page.getByRole('textbox', { name: 'Number of the exercise' }).fill('7');
      await button(page, 'Start the exercise').click();
      await settled(page, 1);
      await button(page, 'Give up and see').click();
      await expect(page.getByTestId('exercise').getByRole('table')).toBeVisible({ timeout: 30_000 });
    },
  ],
];

/** The narrowest and the widest window, and 1280 by 1024 at a zoom of 400 % (WCAG 2.2, 1.4.10). */
const WINDOWS = { narrow: [320, 640], wide: [2560, 1440], zoomed: [320, 256] } as const;

for (const [name, [width, height]] of Object.entries(WINDOWS)) {
  test(`nothing sticks out in a ${name} window`, async ({ page }, info) => {
    test.skip(info.project.name === 'phone', 'the window is the same');
    await page.setViewportSize({ width, height });
    const look = async (screen: string) => {
      await fits(page);
      await page.screenshot({ path: `${FOLDER}${screen}-${name}.png`, fullPage: true });
    };
    await page.goto('/');
    await expect(button(page, 'Start this job')).toBeEnabled();
    await look('intake');
    await openDemo(page);
    await look('bench');
    for (const [screen, open] of others) {
      await open(page);
      await look(screen);
    }
  });
}

/** The pictures in the README: the demo job on a desktop in light, and on a phone in dark. */
const README = {
  desktop: { name: 'bench', colorScheme: 'light', width: 1280, height: 960, scale: 'css' },
  phone: { name: 'phone', colorScheme: 'dark', width: 390, height: 844, scale: 'device' },
} as const;

test('the picture for the README', async ({ page }, info) => {
  const { name, colorScheme, width, height, scale } = README[info.project.name as keyof typeof README];
  await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
  await page.setViewportSize({ width, height });
  await openDemo(page);
  await fits(page);
  await page.evaluate(() => (document.activeElement as HTMLElement | null)?.blur());
  const whole = await page.screenshot({ scale });
  const small = shrink(whole);
  // The small picture differs from the original only in blends of colours.
  expect(await farApart(page, whole, small)).toBeLessThan(0.001);
  // At most 300 kB, for a README.
  expect(small.byteLength).toBeLessThan(300_000);
  const path = join(process.env.PICTURES ?? FOLDER, `${name}.png`);
  mkdirSync(FOLDER, { recursive: true });
  writeFileSync(path, small);
  await info.attach(name, { path, contentType: 'image/png' });
});

/** The share of colour values that clearly differ between two pictures, as a browser decodes them. */
function farApart(page: Page, one: Buffer, other: Buffer): Promise<number> {
  return page.evaluate(
    async (texts) => {
      const [a, b] = await Promise.all(
        texts.map(async (base64) => {
          const bytes = Uint8Array.from(atob(base64), (letter) => letter.charCodeAt(0));
          const picture = await createImageBitmap(new Blob([bytes], { type: 'image/png' }));
          const canvas = new OffscreenCanvas(picture.width, picture.height).getContext('2d');
          canvas?.drawImage(picture, 0, 0);
          return canvas?.getImageData(0, 0, picture.width, picture.height);
        }),
      );
      if (!a || !b || a.width !== b.width || a.height !== b.height) return 1;
      const far = a.data.reduce(
        (count, channel, i) => count + Number(Math.abs(channel - (b.data[i] ?? 0)) > 24),
        0,
      );
      return far / (a.width * a.height);
    },
    [one.toString('base64'), other.toString('base64')],
  );
}

/** Checks that nothing is wider than the window, and that the page has the requested colour scheme. */
async function fits(page: Page): Promise<void> {
  const { wide, ground, dark } = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth - innerWidth,
    ground: getComputedStyle(document.body).backgroundColor.match(/\d+/g)?.map(Number) ?? [],
    dark: matchMedia('(prefers-color-scheme: dark)').matches,
  }));
  expect(wide).toBeLessThanOrEqual(0);
  expect((ground[0] ?? 0) < 128).toBe(dark);
}

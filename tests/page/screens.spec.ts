// Pictures of the page to look at, in tests/artefacts/screens and in the report.

import type { Page } from '@playwright/test';
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { shrink } from '../scripts/png.mjs';
import { button, choose, closing, DEMO_STEPS, nextStep, openDemo, settled } from './bench.ts';
import { expect, test } from './quiet.ts';

const FOLDER = fileURLToPath(new URL('../artefacts/screens/', import.meta.url));

for (const colorScheme of ['light', 'dark'] as const) {
  test(`pictures in ${colorScheme}`, async ({ page }, info) => {
    await page.emulateMedia({ colorScheme, reducedMotion: 'reduce' });
    const picture = async (name: string) => {
      await fits(page);
      // As high as the page, so that the bar at the foot of a phone covers nothing.
      const { width = 0, height = 0 } = page.viewportSize() ?? {};
      await page.setViewportSize({ width, height: await page.evaluate(() => document.documentElement.scrollHeight) });
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
  });
}

/** What the README shows: the demo job on a bench by day, and in the hand by night. */
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
  // The same picture, but for blends of colours that nobody can tell apart.
  expect(await farApart(page, whole, small)).toBeLessThan(0.001);
  // Small enough for a README: 300 KB.
  expect(small.byteLength).toBeLessThan(300_000);
  const path = join(process.env.PICTURES ?? FOLDER, `${name}.png`);
  mkdirSync(FOLDER, { recursive: true });
  writeFileSync(path, small);
  await info.attach(name, { path, contentType: 'image/png' });
});

/** The share of points that two pictures show in plainly different colours, as a browser sees them. */
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
      const far = a.data.reduce((count, channel, i) => count + Number(Math.abs(channel - (b.data[i] ?? 0)) > 24), 0);
      return far / (a.width * a.height);
    },
    [one.toString('base64'), other.toString('base64')],
  );
}

/** Nothing sticks out to the side, and the page is in the colours that were asked for. */
async function fits(page: Page): Promise<void> {
  const { wide, ground, dark } = await page.evaluate(() => ({
    wide: document.documentElement.scrollWidth - innerWidth,
    ground: getComputedStyle(document.body).backgroundColor.match(/\d+/g)?.map(Number) ?? [],
    dark: matchMedia('(prefers-color-scheme: dark)').matches,
  }));
  expect(wide).toBeLessThanOrEqual(0);
  expect((ground[0] ?? 0) < 128).toBe(dark);
}

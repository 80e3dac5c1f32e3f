import { expect, test } from './quiet.ts';

test('the page opens, and the engine is loaded from the same place', async ({ page, traffic }) => {
  await page.goto('/');
  await expect(page).toHaveTitle(/halfsplit/i);
  await expect(page.getByRole('main')).toBeVisible();
  await expect(page.getByRole('main')).not.toBeEmpty();
  await expect
    .poll(() => traffic.asked.filter((url) => new URL(url).pathname.endsWith('.wasm')))
    .toHaveLength(1);
});

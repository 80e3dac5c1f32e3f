// The bar at the foot of a phone's screen, which jumps to the parts of the single column.

import { button, causes, DEMO_STEPS, openDemo } from './bench.ts';
import { expect, test } from './quiet.ts';

test('on a phone the bar at the foot is always in reach and goes where it says; a desktop needs none', async ({
  page,
  isMobile,
}) => {
  await page.emulateMedia({ reducedMotion: 'reduce' });
  await openDemo(page);
  const bar = page.getByRole('navigation', { name: 'Jump to' });
  if (!isMobile) {
    await expect(bar).toBeHidden();
    await expect(causes(page)).toBeInViewport();
    return;
  }
  const parts = { Result: '#result', Instead: '#other', Odds: '#odds', [`Found ${DEMO_STEPS}`]: '#found' };
  for (const [name, part] of Object.entries(parts)) {
    await button(bar, name).click();
    await expect(page.locator(part)).toBeFocused();
    // Its head is on the screen, above the bar, and the bar stays where it is.
    const top = await page.locator(part).evaluate((element) => element.getBoundingClientRect().top);
    const foot = await bar.evaluate((element) => innerHeight - element.getBoundingClientRect().bottom);
    expect(top, name).toBeGreaterThanOrEqual(0);
    expect(top, name).toBeLessThan(600);
    expect(Math.abs(foot), name).toBeLessThan(2);
  }
  expect(new URL(page.url()).hash).toBe('');
});

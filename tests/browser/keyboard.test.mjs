// A keyboard alone is enough.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as bench from './bench.mjs';

/** Goes on by Tab until something has the focus. */
async function tabTo(page, selector, most = 200) {
  for (let n = 0; n < most; n += 1) {
    await page.keyboard.press('Tab');
    const there = await page.evaluate((s) => document.activeElement.matches(s), selector);
    if (there) return;
  }
  assert.fail(`${selector} cannot be reached by Tab`);
}

test('keyboard only: everything is reached in sight, in order, and can be used', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const started = await bench.browser(t);
  const it = await bench.device(started, url, { view: bench.LAPTOP });
  const { page, go } = it;
  const faults = [];
  for (const at of await bench.screens(page, url)) {
    await go(at);
    const wanted = await page.evaluate(() => {
      const can = 'a[href], button:not(.enter), input:not([type=hidden]), select, textarea, summary';
      const groups = new Set();
      return [...document.querySelectorAll(can)].filter((element) => {
        if (element.disabled || !element.checkVisibility()) return false;
        if (element.type !== 'radio') return true;
        const first = !groups.has(element.name);
        groups.add(element.name);
        return first;
      }).length;
    });
    const seen = new Set();
    let last = null;
    // A date is several stops in one field.
    for (let n = 0; n < 3 * wanted + 5; n += 1) {
      await page.keyboard.press('Tab');
      const now = await page.evaluate(() => {
        const element = document.activeElement;
        if (!element || element === document.body) return null;
        globalThis.visited ??= new Map();
        if (!globalThis.visited.has(element)) globalThis.visited.set(element, globalThis.visited.size);
        const style = getComputedStyle(element);
        const own = element.closest('label') ? getComputedStyle(element.closest('label')) : style;
        const ring = (s) => s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2;
        const box = element.getBoundingClientRect();
        const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
        const inView = box.bottom > 0 && box.top < innerHeight;
        const free = !top || element.contains(top) || top.contains(element) ||
          top.closest('label')?.contains(element);
        return {
          id: globalThis.visited.get(element), html: element.outerHTML.slice(0, 90),
          ringed: ring(style) || ring(own), inView, free: Boolean(free),
        };
      });
      if (!now || (now.id !== last && seen.has(now.id))) break;
      last = now.id;
      seen.add(now.id);
      if (!now.ringed) faults.push(`${at}: no ring: ${now.html}`);
      if (!now.inView || !now.free) faults.push(`${at}: out of sight: ${now.html}`);
    }
    if (seen.size < wanted) faults.push(`${at}: ${seen.size} of ${wanted} reached`);
  }
  assert.deepEqual(faults, []);

  await go('/');
  await page.keyboard.press('Tab');
  assert.equal(await page.evaluate(() => document.activeElement.className), 'skip');
  await page.keyboard.press('Enter');
  assert.equal(await page.evaluate(() => document.activeElement.id), 'main');
  await tabTo(page, 'a.main');
  await page.keyboard.press('Enter');
  await page.waitForURL(/\/step\//);
  const before = await bench.seq(page);
  await tabTo(page, 'button[value=done]');
  await tabTo(page, 'input[name=minutes]');
  await page.keyboard.type('25');
  await page.keyboard.press('Shift+Tab');
  for (let n = 0; n < 6; n += 1) {
    const at = await page.evaluate(() => document.activeElement.value);
    if (at === 'done') break;
    await page.keyboard.press('Shift+Tab');
  }
  await page.keyboard.press('Space');
  await page.locator('#told').getByText('Written: entry').waitFor();
  assert.equal(await bench.seq(page), before + 1);

  await go('/geometry/LR');
  await tabTo(page, 'input[type=range]');
  const stood = await page.locator('#at-angle').inputValue();
  await page.keyboard.press('ArrowRight');
  assert.notEqual(await page.locator('#at-angle').inputValue(), stood);
  await page.locator('#at-here table').waitFor();
  it.fine();
});

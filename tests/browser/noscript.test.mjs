// Everything works as plain forms, with scripts switched off.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as bench from './bench.mjs';

test('script off: read every screen, write, sign, ask at an angle', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const started = await bench.browser(t);
  const it = await bench.device(started, url, { script: false });
  const { page, go } = it;
  const main = page.locator('main');

  const found = await bench.screens(page, url);
  for (const at of found) {
    await go(at);
    assert.ok((await main.innerText()).trim().length > 20, `${at} says nothing`);
  }

  await go('/settings');
  await page.getByLabel('Who is writing on this device').fill('Bea');
  await page.getByLabel('Bright sun').check();
  await page.getByRole('button', { name: 'Save' }).click();
  await main.getByText('Saved for this device').waitFor();
  assert.equal(await page.locator('html').getAttribute('data-theme'), 'sun');

  await go('/log');
  const before = await bench.seq(page);
  await page.locator('#note-text').fill('Written without a script: 26.4 deg < 30 & "so"');
  await page.getByRole('button', { name: 'Write this note' }).click();
  await page.locator('#told').getByText('Written: entry').waitFor();
  assert.equal(await bench.seq(page), before + 1);
  await page.locator('ul.log li').first().getByText('Written without a script: 26.4 deg < 30 & "so"')
    .waitFor();
  await page.locator('ul.log li').first().getByText('Bea').waitFor();

  // What cannot be read comes back with what was typed and with what would be right.
  await go('/readings');
  await page.getByLabel('What', { exact: false }).first().selectOption('plate angle');
  await page.locator('#reading-side').selectOption('left');
  await page.locator('#reading-value').fill('26,4 furlongs');
  await page.getByRole('button', { name: 'Write this reading' }).click();
  await page.locator('#told.refused').waitFor();
  assert.equal(await page.locator('#reading-value').inputValue(), '26,4 furlongs');
  it.forgive(/^422 |console: .*422/);
  await page.locator('#reading-value').fill('26.4 deg');
  await page.getByRole('button', { name: 'Write this reading' }).click();
  await page.locator('#told').getByText('Written: entry').waitFor();

  await go('/geometry/LR?angle=20');
  await main.getByText('At 20.0°').first().waitFor();
  const show = page.getByRole('button', { name: 'Show what holds there' });
  assert.ok(await show.isVisible(), 'without a script the slider needs its button');

  await go('/');
  await page.getByRole('link', { name: 'Open this step' }).click();
  await page.getByRole('button', { name: 'Done', exact: true }).click();
  await page.locator('#told').getByText('Written: entry').waitFor();
  it.fine();
});

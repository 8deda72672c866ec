// The Enter key never chooses, and what became of a form is told where it is seen.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as bench from './bench.mjs';

/** Fields of the forms that write entries, in which a telephone's keyboard has a key that ends typing. */
const TYPED = 'form:has([name=once]) input:is([type=text], [type=date], [type=number])';

/** Screens with forms of every kind. */
const EXTRA = ['/step/bar-in-right', '/joints/hub-cover-left', '/joints/hub-nut-left', '/log/3'];

for (const script of [true, false]) {
  const how = script ? 'with script' : 'without script';
  test(`Enter in every field of every form writes nothing, ${how}`, async (t) => {
    const { url } = await bench.serve(t, await bench.demoBook(t));
    const started = await bench.browser(t);
    const finder = await bench.device(started, url);
    const found = new Set([...await bench.screens(finder.page, url), ...EXTRA]);
    const it = await bench.device(started, url, { script });
    const { page, go } = it;
    const before = await seqOf(finder);
    let fields = 0;
    let forms = 0;
    for (const at of found) {
      await go(at);
      const count = await page.locator(TYPED).count();
      const seen = new Set();
      for (let n = 0; n < count; n += 1) {
        const field = page.locator(TYPED).nth(n);
        if (!await field.isVisible()) continue;
        const { key, kind } = await field.evaluate((one) => ({
          key: one.form.dataset.key, kind: one.type,
        }));
        // A form that was sent once without a script comes back: one field of each tells it all.
        if (!script && seen.has(key)) continue;
        seen.add(key);
        await field.fill(kind === 'date' ? '1964-05-04' : '5');
        await field.press('Enter');
        fields += 1;
        if (script) {
          const there = await page.evaluate(() => document.activeElement.form?.dataset.key);
          assert.ok(there === key || there === undefined, `${at}: Enter left ${key} for ${there}`);
        } else {
          const told = page.locator('#told.refused').getByText('Enter key writes nothing');
          await told.waitFor().catch(() => assert.fail(`${at}: ${key} said nothing`));
          await go(at);
        }
      }
      forms += seen.size;
    }
    assert.ok(fields > 15 && forms > 8, `${fields} fields of ${forms} forms`);
    assert.equal(await seqOf(finder), before, 'something was written');
    it.forgive(/^422 |console: .*422/);
    it.fine();
  });
}

/** The number of the last entry, asked of the program and not of a page that stands open. */
async function seqOf(it) {
  await it.go('/all');
  return bench.seq(it.page);
}

test('a torque and Enter write nothing; the bolt\'s own button writes that bolt', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const started = await bench.browser(t);
  const it = await bench.device(started, url);
  const { page, go } = it;
  const at = '/joints/hub-cover-left';
  await go(at);
  const before = await bench.seq(page);
  const value = page.locator(`[id="joint-hub-cover-left-value"]`);
  await value.fill('43 N m');
  await value.press('Enter');
  assert.equal(await value.inputValue(), '43 N m');
  assert.equal(await seqOf(await bench.device(started, url)), before);
  assert.equal(await page.evaluate(() => document.activeElement.tagName), 'BUTTON');
  await page.getByRole('button', { name: 'Bolt C: torqued' }).click();
  await page.locator('#told').getByText('Written: entry').waitFor();
  assert.equal(await bench.seq(page), before + 1);
  await go(`/log/${before + 1}`);
  await page.locator('main').getByText('hub-cover-left bolt C torqued').waitFor();
  it.fine();
});

test('written and refused are told in sight, with the place kept or the fault in the middle', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const started = await bench.browser(t);
  for (const view of [bench.PHONE, bench.LAPTOP]) {
    const it = await bench.device(started, url, { view });
    const { page, go } = it;
    const told = page.locator('#told');
    const inSight = async (locator, what) => {
      const box = await locator.boundingBox();
      assert.ok(box && box.y >= 0 && box.y + box.height <= view.height, `${what} is out of sight`);
      return box;
    };
    await go('/joints/hub-cover-right');
    // Refused: no torque was typed. The reason is above the bar, the field in the middle.
    await page.getByRole('button', { name: /: torqued$/ }).last().click();
    await told.getByText('Not written: ').waitFor();
    const strip = await inSight(told, 'the reason');
    const field = await inSight(page.locator('[aria-invalid=true]'), 'the field');
    assert.ok(field.y + field.height <= strip.y, 'the reason covers the field');
    assert.equal(await page.evaluate(() => document.activeElement.getAttribute('aria-invalid')), 'true');
    assert.match(await page.title(), /^Not written: /);
    if (view === bench.PHONE) {
      const bar = await page.locator('nav.ways').boundingBox();
      assert.ok(Math.abs(strip.y + strip.height - bar.y) < 2, 'not just above the bar');
    }
    it.forgive(/^422 |console: .*422/);
    // Written: the screen stands where it stood, and the bolt is still under the thumb.
    await go('/joints/hub-cover-right');
    const button = page.getByRole('button', { name: /: snug$/ }).last();
    await button.evaluate((one) => one.scrollIntoView({ block: 'center' }));
    const stood = await page.evaluate(() => scrollY);
    assert.ok(stood > 100, 'the screen is long');
    await button.click();
    await told.getByText('Written: entry').waitFor();
    await inSight(told, 'what was written');
    await bench.until('the place is kept', async () =>
      Math.abs(await page.evaluate(() => scrollY) - stood) < 90);
    assert.match(await page.title(), /^Joints/);
    it.fine();
    await it.context.close();
  }
});

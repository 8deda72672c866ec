// Every screen of a half-done job: reachable by everybody, whole, and quiet.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import * as bench from './bench.mjs';

describe('every screen', async () => {
  let url, started, found;
  const ends = [];
  before(async () => {
    const book = await bench.demoBook(shared);
    ({ url } = await bench.serve(shared, book));
    started = await bench.browser(shared);
    const first = await bench.device(started, url);
    found = await bench.screens(first.page, url);
    first.fine();
  }, { timeout: 300_000 });
  // What `before` opens stays open for all tests here.
  const shared = { after: (end) => ends.push(end) };
  after(async () => {
    while (ends.length > 0) await ends.pop()();
  });

  for (const theme of bench.THEMES) {
    test(`accessible and whole on a phone, ${theme}`, async () => {
      const it = await bench.device(started, url, { theme, dark: theme === 'dark' });
      const faults = [];
      for (const at of found) {
        await it.go(at);
        const access = await bench.access(it.page, { strict: theme === 'sun' });
        const cut = await bench.cutOff(it.page);
        faults.push(...[...access, ...cut].map((fault) => `${at}: ${fault}`));
      }
      assert.deepEqual(faults, []);
      it.fine();
      await it.context.close();
    });
  }

  test('accessible and whole on a laptop', async () => {
    const it = await bench.device(started, url, { view: bench.LAPTOP });
    const faults = [];
    for (const at of found) {
      await it.go(at);
      const all = [...await bench.access(it.page), ...await bench.cutOff(it.page)];
      faults.push(...all.map((fault) => `${at}: ${fault}`));
    }
    assert.deepEqual(faults, []);
    it.fine();
    await it.context.close();
  });

  test('whole with letters twice as large', async () => {
    const it = await bench.device(started, url, { view: { width: 640, height: 800 } });
    const faults = [];
    for (const at of found) {
      await it.go(at);
      await it.page.evaluate(() => { document.documentElement.style.fontSize = '200%'; });
      const cut = await bench.cutOff(it.page);
      faults.push(...cut.map((fault) => `${at}: ${fault}`));
    }
    assert.deepEqual(faults, []);
    await it.context.close();
  });

  test('the rules here catch what they are for', async () => {
    const it = await bench.device(started, url);
    await it.go('/');
    await it.page.evaluate(() => {
      // Set one by one: the page's own policy lets no style through that stands in the markup.
      const add = (name, words, style) => {
        const made = document.createElement(name);
        made.textContent = words;
        Object.assign(made.style, style);
        document.getElementById('main').prepend(made);
      };
      add('p', 'pale', { color: '#bbb', background: '#fff' });
      add('input', '', { width: '20px', minWidth: '0', height: '20px', minHeight: '0' });
      add('div', 'wide', { width: '900px' });
    });
    const access = await bench.access(it.page);
    assert.ok(access.some((fault) => fault.startsWith('color-contrast:')), access.join('\n'));
    assert.ok(access.some((fault) => fault.startsWith('label:')), access.join('\n'));
    const cut = (await bench.cutOff(it.page)).join('\n');
    assert.match(cut, /px wide on 390/);
    assert.match(cut, /small, 20/);
    await it.page.evaluate(() => {
      console.error('complaint');
      return fetch('http://192.0.2.1/').catch(() => null);
    });
    const told = it.complaints.join('\n');
    assert.match(told, /console: complaint/);
    assert.match(told, /Content Security Policy|asked outside/);
    await it.context.close();
  });
});

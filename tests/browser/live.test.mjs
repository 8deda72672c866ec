// Two devices, a server that dies, and what was typed.
import assert from 'node:assert/strict';
import { rename } from 'node:fs/promises';
import { test } from 'node:test';
import * as bench from './bench.mjs';

const note = (page) => page.locator('#note-text');
const write = (page) => page.getByRole('button', { name: 'Write this note' }).click();

test('two devices: a change is there within moments, and typed words stay', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const started = await bench.browser(t);
  const [one, other] = [await bench.device(started, url), await bench.device(started, url)];
  await one.go('/log');
  await other.go('/log');
  await note(other.page).fill('half typed');
  await note(other.page).focus();
  const told = [];
  for (const words of ['first of one', 'second of one', 'third of one']) {
    await note(one.page).fill(words);
    const sent = Date.now();
    await write(one.page);
    await other.page.locator('ul.log').getByText(words).waitFor();
    told.push(Date.now() - sent);
    await one.page.locator('#told').getByText('Written: entry').waitFor();
  }
  console.log(`      a change on the other device after ${told.join(', ')} ms, sending included`);
  // The promise is a second; a machine that builds at the same time gets more.
  assert.ok(Math.min(...told) < 5_000, `a change took ${told.join(', ')} ms`);
  assert.equal(await note(other.page).inputValue(), 'half typed');
  assert.equal(await other.page.evaluate(() => document.activeElement.id), 'note-text');
  await write(other.page);
  await one.page.locator('ul.log').getByText('half typed').waitFor();
  one.fine();
  other.fine();
});

test('figures that follow from a reading reach the other device, too', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const it = await bench.device(await bench.browser(t), url);
  await it.go('/splines');
  const now = it.page.locator('main').getByText(/^Free angle now \d/).first();
  const before = await now.textContent();
  const form = { what: 'plate angle', where: 'left', side: 'left', value: '30.0 deg', arrow: 'nose',
    hung: 'plate', lash: 'lifted' };
  const answer = await it.page.request.post(new URL('/readings', url).href,
    { form, headers: { origin: new URL(url).origin }, maxRedirects: 0 });
  assert.equal(answer.status(), 303, await answer.text());
  await bench.until('the new figure', async () => (await now.textContent()) !== before);
  assert.equal(await it.page.locator('body').getAttribute('data-stale'), null);
  it.fine();
});

test('another device is let in by a code, once', async (t) => {
  const { url, port, said } =
    await bench.serve(t, await bench.demoBook(t), { more: ['--lan'] });
  const started = await bench.browser(t);
  // Another address of this machine is a stranger to the page.
  const away = `http://127.0.0.2:${port}/`;
  const code = () => said.join('\n').match(/(?:code=|device: )([A-Z2-9]{8})/g)?.at(-1)?.slice(-8);
  await bench.until('a code on the terminal', async () => code());
  const first = code();
  const phone = await bench.device(started, away);
  const { page } = phone;
  await page.goto(away);
  assert.match(page.url(), /\/pair$/);
  assert.deepEqual(await bench.access(page), []);
  assert.deepEqual(await bench.cutOff(page), []);
  await page.getByLabel('Code').fill('WRONGONE');
  await page.getByRole('button', { name: 'Pair' }).click();
  await page.getByRole('alert').waitFor();
  phone.forgive(/^403 |console: .*403/);
  await page.getByLabel('Code').fill(first.toLowerCase());
  await page.getByRole('button', { name: 'Pair' }).click();
  await page.locator('header.sheet-head').waitFor();
  await phone.go('/log');
  await note(page).fill('from the phone');
  await write(page);
  await page.locator('ul.log').getByText('from the phone').waitFor();
  phone.fine();

  const stranger = await bench.device(started, away);
  await stranger.page.goto(`${away}pair?code=${first}`);
  await stranger.page.getByRole('button', { name: 'Pair' }).click();
  await stranger.page.getByRole('alert').waitFor();
  const own = await bench.device(started, url);
  await own.go('/settings');
  await own.page.locator('#devices').getByText(await code()).first().waitFor();
  own.fine();
});

test('killed in the middle of a form: nothing typed and nothing written is lost', async (t) => {
  const book = await bench.demoBook(t);
  const first = await bench.serve(t, book);
  const started = await bench.browser(t);
  const it = await bench.device(started, first.url);
  const { page } = it;
  await it.go('/log');
  await note(page).fill('this one is on the disk');
  await write(page);
  await page.locator('#told').getByText('Written: entry').waitFor();
  const before = await bench.seq(page);
  await page.locator('#note-about').fill('hose-left');
  await note(page).fill('typed before the end');

  await first.kill();
  await page.locator('#lost').waitFor({ state: 'visible' });
  assert.deepEqual(await bench.access(page), []);
  await note(page).pressSequentially(', and after it');
  await write(page);
  await page.locator('.unsent').waitFor();
  assert.equal(await note(page).inputValue(), 'typed before the end, and after it');

  const again = await bench.serve(t, book, { port: first.port });
  assert.equal(again.url, first.url);
  await page.locator('#lost').waitFor({ state: 'hidden' });
  it.forgive(/ERR_CONNECTION_REFUSED|ERR_INCOMPLETE_CHUNKED|ERR_CONNECTION_RESET/);
  // The telephone went to sleep meanwhile and loads the page anew.
  await page.reload();
  assert.equal(await bench.seq(page), before, 'the entry written before the kill is there');
  assert.equal(await note(page).inputValue(), 'typed before the end, and after it');
  assert.equal(await page.locator('#note-about').inputValue(), 'hose-left');
  await write(page);
  await page.locator('#told').getByText('Written: entry').waitFor();
  assert.equal(await bench.seq(page), before + 1);
  await page.locator('ul.log').getByText('typed before the end, and after it').waitFor();
  assert.equal(await note(page).inputValue(), '', 'what is written is no draft any more');
  assert.equal(await page.locator('.unsent').count(), 0);
  it.fine();
  assert.match(await bench.axlewright('book', 'verify', book), /\w/);
});

/** Makes a tab believe that nobody looks at it, or that somebody does again: a browser without a
 * screen shows every tab. */
const look = (page, hidden) => page.evaluate((hidden) => {
  Object.defineProperty(document, 'hidden', { configurable: true, get: () => hidden });
  document.dispatchEvent(new Event('visibilitychange'));
}, hidden);

test('nine tabs of one browser: all load, and a form is answered at once', async (t) => {
  const { url } = await bench.serve(t, await bench.demoBook(t));
  const it = await bench.device(await bench.browser(t), url);
  await it.go('/log');
  const tabs = [it.page];
  const took = [];
  for (let number = 2; number <= 9; number += 1) {
    const tab = await it.context.newPage();
    const from = Date.now();
    const answer = await tab.goto(new URL('/log', url).href, { waitUntil: 'load', timeout: 30_000 });
    assert.equal(answer.status(), 200, `tab ${number}`);
    took.push(Date.now() - from);
    tabs.push(tab);
  }
  // Whoever writes has the tab in front; a browser lets the others wait.
  await tabs[0].bringToFront();
  await note(tabs[0]).fill('from the first of nine');
  const sent = Date.now();
  await write(tabs[0]);
  await tabs[0].locator('#told').getByText('Written: entry').waitFor();
  const answered = Date.now() - sent;
  console.log(`      tabs loaded in ${took.join(', ')} ms; the form was answered in ${answered} ms`);
  // The promise is a second; a machine that builds at the same time gets more.
  assert.ok(answered < 5_000, `${answered} ms`);
  await tabs[8].bringToFront();
  // The tab in front hears of it; one that nobody looks at hears when somebody looks again.
  await tabs[8].locator('ul.log').getByText('from the first of nine').waitFor();
  await look(tabs[8], true);
  await note(tabs[0]).fill('while nobody looked');
  await write(tabs[0]);
  await tabs[0].locator('ul.log').getByText('while nobody looked').waitFor();
  const before = await bench.seq(tabs[8]);
  assert.equal(await tabs[8].locator('ul.log').getByText('while nobody looked').count(), 0);
  await look(tabs[8], false);
  await bench.until('the tab caught up', async () => (await bench.seq(tabs[8])) > before);
  await tabs[8].locator('ul.log').getByText('while nobody looked').waitFor();
  for (const tab of tabs) assert.equal(await tab.locator('#lost').isVisible(), false);
  it.fine();
});

test('a book that is moved away says so on the page, and takes it back', async (t) => {
  const book = await bench.demoBook(t);
  const { url } = await bench.serve(t, book);
  const it = await bench.device(await bench.browser(t), url);
  await it.go('/log');
  await rename(book, `${book}-away`);
  const line = it.page.locator('p.fault[role=alert]').getByText('The book is not where it was');
  await line.waitFor();
  assert.deepEqual(await bench.access(it.page), []);
  await note(it.page).fill('typed while it was away');
  await write(it.page);
  await it.page.locator('#told').getByText('Not written: the book is not where it was opened')
    .waitFor();
  it.forgive(/^503 |console: .*503/);
  assert.equal(await note(it.page).inputValue(), 'typed while it was away');
  await rename(`${book}-away`, book);
  await line.waitFor({ state: 'hidden' });
  await it.go('/log');
  assert.equal(await note(it.page).inputValue(), 'typed while it was away');
  await write(it.page);
  await it.page.locator('ul.log').getByText('typed while it was away').waitFor();
  it.fine();
});

// What every test needs: the program, a book, its page, and a browser that notices everything.
import assert from 'node:assert/strict';
import { execFile, spawn } from 'node:child_process';
import { cp, mkdtemp, readFile, rm } from 'node:fs/promises';
import { existsSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { createInterface } from 'node:readline';
import { promisify } from 'node:util';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const here = path.dirname(fileURLToPath(import.meta.url));
export const top = path.join(here, '..', '..');
/** The program; the chore that builds it says where it stands. */
export const program = process.env.AXLEWRIGHT_PROGRAM ?? path.join(top, 'target', 'debug', 'axlewright');
/** How long a machine that builds at the same time may take for one thing. */
export const PATIENCE = 60_000;

const FLAGS = [
  '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run',
  '--disable-background-networking', '--disable-component-update', '--disable-sync',
  '--disable-dev-shm-usage',
];

export const PHONE = { width: 390, height: 844 };
export const LAPTOP = { width: 1280, height: 800 };
export const THEMES = ['light', 'dark', 'sun'];

const call = promisify(execFile);

/** Runs the program to its end and gives what it says. */
export async function axlewright(...words) {
  assert.ok(existsSync(program), `${program} is not built`);
  const said = await call(program, words, { env: { ...process.env, AXLEWRIGHT_BY: 'Ann' } });
  return said.stdout;
}

/** A folder that goes away with the test. */
export async function folder(test) {
  const made = await mkdtemp(path.join(tmpdir(), 'axlewright-page-'));
  test.after(() => rm(made, { recursive: true, force: true }));
  return made;
}

/** The demo's book: half the job done. */
export async function demoBook(test) {
  const out = await folder(test);
  // Making it takes seconds; whoever runs many tests has made one beforehand.
  const made = process.env.AXLEWRIGHT_DEMO;
  if (made) {
    await cp(path.join(made, 'book'), path.join(out, 'book'), { recursive: true });
    return path.join(out, 'book');
  }
  await axlewright('demo', '--once', '--out', out);
  return path.join(out, 'book');
}

/** A book that holds nothing but the blank car file a beginner gets. */
export async function emptyBook(test) {
  const out = await folder(test);
  await axlewright('new', path.join(out, 'car'));
  const book = path.join(out, 'book');
  await axlewright('book', 'new', book, '--car', path.join(out, 'car', 'car.toml'));
  return book;
}

/** The demo's car file as the manual and the tape have it, before anything was read or weighed. */
export async function carFile() {
  const text = await readFile(path.join(top, 'examples', 'larch-1300', 'car.toml'), 'utf8');
  const blocks = text.split(/^(?=\[)/m);
  return blocks.filter((block) => !/^\[\[(reading|round)\]/.test(block)).join('');
}

/** The page of a book, on a port that is free. */
export async function serve(test, book, { port = 0, more = [] } = {}) {
  const words = ['serve', book, '--port', String(port), '--no-open', ...more];
  const child = spawn(program, words, {
    stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, AXLEWRIGHT_BY: 'Ann' },
  });
  const said = [];
  const ended = new Promise((resolve) => child.once('exit', resolve));
  const url = await new Promise((resolve, reject) => {
    const take = (line) => {
      said.push(line);
      const found = line.match(/http:\/\/127\.0\.0\.1:\d+\//);
      if (found) resolve(found[0]);
    };
    createInterface({ input: child.stdout }).on('line', take);
    createInterface({ input: child.stderr }).on('line', take);
    ended.then((code) => reject(new Error(`serve ended with ${code}: ${said.join('\n')}`)));
  });
  const end = async (signal) => {
    if (child.exitCode === null && child.signalCode === null) child.kill(signal);
    await ended;
  };
  test.after(() => end('SIGTERM'));
  return { url, port: Number(new URL(url).port), said, kill: () => end('SIGKILL') };
}

/** Debian's Chromium. */
export async function browser(test) {
  const found = (process.env.PATH ?? '').split(path.delimiter)
    .map((place) => path.join(place, 'chromium')).find((file) => existsSync(file));
  assert.ok(found, 'chromium is not installed');
  const started = await chromium.launch({ executablePath: found, args: FLAGS, headless: true });
  test.after(() => started.close());
  return started;
}

/**
 * A device with one page open. Whatever it asks for outside the page's own origin, and whatever
 * its console complains of, is kept; `fine()` asserts that there was nothing.
 */
export async function device(started, url, options = {}) {
  const { theme, view = PHONE, script = true, dark = false } = options;
  const context = await started.newContext({
    viewport: view, isMobile: view.width < 600, hasTouch: view.width < 600,
    javaScriptEnabled: script, colorScheme: dark ? 'dark' : 'light', reducedMotion: 'reduce',
    acceptDownloads: true,
  });
  context.setDefaultTimeout(PATIENCE);
  if (theme) {
    await context.addCookies([{ name: 'axlewright_theme', value: theme, url }]);
  }
  const page = await context.newPage();
  const complaints = [];
  const origin = new URL(url).origin;
  context.on('request', (request) => {
    const to = request.url();
    if (!to.startsWith(`${origin}/`) && !to.startsWith('data:') && !to.startsWith('blob:')) {
      complaints.push(`asked outside: ${to}`);
    }
  });
  page.on('console', (message) => {
    if (['error', 'warning'].includes(message.type())) {
      complaints.push(`console: ${message.text()} at ${message.location().url}`);
    }
  });
  page.on('pageerror', (error) => complaints.push(`script: ${error.message}`));
  page.on('response', (response) => {
    if (response.status() >= 400) complaints.push(`${response.status()} for ${response.url()}`);
  });
  const go = async (to) => {
    const response = await page.goto(new URL(to, url).href, { waitUntil: 'load' });
    assert.equal(response.status(), 200, to);
  };
  const forgive = (pattern) => {
    for (let at = complaints.length - 1; at >= 0; at -= 1) {
      if (pattern.test(complaints[at])) complaints.splice(at, 1);
    }
  };
  return { context, page, go, complaints, forgive, fine: () => assert.deepEqual(complaints, []) };
}

/** The number of the last entry the page knows of. */
export const seq = async (page) => Number(await page.locator('body').getAttribute('data-seq'));

/** Waits until something is true, asking again and again. */
export async function until(what, ask, patience = PATIENCE) {
  const end = Date.now() + patience;
  for (;;) {
    if (await ask()) return;
    if (Date.now() > end) assert.fail(`waited ${patience} ms in vain: ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

/** Every screen of a book, each of its kinds once or more, found from the page itself. */
export async function screens(page, url) {
  const ask = async (at, pattern) => {
    await page.goto(new URL(at, url).href);
    const all = await page.locator('main a').evaluateAll((found) =>
      found.map((link) => link.getAttribute('href')));
    return all.filter((href) => href && pattern.test(href));
  };
  const listed = await ask('/all', /^\//);
  assert.ok(listed.length >= 12, `only ${listed.length} screens are listed`);
  const found = new Set([...listed, '/all', '/car/text', '/order/1', '/order/back-out']);
  const add = (links, count) => {
    assert.ok(links.length > 0, `no link of a kind that should be there; last was ${[...found].at(-1)}`);
    for (const link of new Set(links.map((l) => l.split('#')[0]))) {
      if (count-- > 0) found.add(link);
    }
  };
  add(await ask('/', /^\/step\//), 2);
  add(await ask('/joints', /^\/joints\//), 4);
  add(await ask('/parts', /^\/parts\//), 2);
  add(await ask('/geometry/LR', /^\/geometry\//), 2);
  add(await ask('/splines', /^\/why\//), 3);
  add(await ask('/log', /^\/log\/\d/), 2);
  add(await ask('/wheels', /^\/wheels\//), 1);
  return [...found];
}

/** What runs over the page sideways, and what is cut off by its own box. */
export async function cutOff(page) {
  return page.evaluate(() => {
    const root = document.documentElement;
    const faults = [];
    if (root.scrollWidth > root.clientWidth) {
      const wide = [...document.querySelectorAll('body *')].filter((element) =>
        element.getBoundingClientRect().right + scrollX > root.clientWidth + 1);
      const names = wide.slice(0, 3).map((element) => element.outerHTML.slice(0, 90));
      faults.push(`${root.scrollWidth} px wide on ${root.clientWidth}: ${names.join(' | ')}`);
    }
    for (const element of document.querySelectorAll('main *, header *, nav *')) {
      const style = getComputedStyle(element);
      const hides = ['hidden', 'clip'].includes(style.overflowX) && style.clipPath === 'none';
      if (hides && element.clientWidth > 1 && element.scrollWidth > element.clientWidth + 1) {
        faults.push(`cut off: ${element.outerHTML.slice(0, 90)}`);
      }
    }
    // A button or a link of a list is for a thumb in a glove.
    for (const element of document.querySelectorAll('button:not(.enter), a.button, nav.ways a, select, ' +
      'input:not([type=hidden], [type=checkbox], [type=radio]), summary, label.choice')) {
      const box = element.getBoundingClientRect();
      if (box.width > 0 && box.height > 0 && (box.height < 47.5 || box.width < 47.5)) {
        faults.push(`small, ${box.width.toFixed(0)} × ${box.height.toFixed(0)}: ` +
          element.outerHTML.slice(0, 90));
      }
    }
    return faults;
  });
}

const axe = readFileSync(path.join(here, 'node_modules', 'axe-core', 'axe.min.js'), 'utf8');

/** What the accessibility rules find wrong; contrast of the sun theme at the stricter level. */
export async function access(page, { strict = false } = {}) {
  await page.evaluate(axe);
  return page.evaluate(async (strict) => {
    const tags = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
    const rules = strict ? { 'color-contrast-enhanced': { enabled: true } } : {};
    const found = await globalThis.axe.run(document, {
      runOnly: { type: 'tag', values: tags }, rules, resultTypes: ['violations'],
    });
    return found.violations.flatMap((violation) => violation.nodes.map((node) =>
      `${violation.id}: ${node.html.slice(0, 120)} (${node.failureSummary.split('\n').slice(1, 3)
        .map((line) => line.trim()).join('; ')})`));
  }, strict);
}

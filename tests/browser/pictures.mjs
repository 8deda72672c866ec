// Pictures of the page: every screen on a phone, a laptop and on paper, in every theme, for whoever
// works on it; with --readme the few that the README shows; with --sheet FILE those of a sheet.
import { execFileSync } from 'node:child_process';
import { mkdir, rm } from 'node:fs/promises';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import * as bench from './bench.mjs';
import { PAPERS, VIEWS } from './sheet.mjs';

const [kind, sheet] = process.argv.slice(2);
const FOLDERS = { '--readme': ['docs', 'pictures'], '--sheet': ['target', 'look', 'sheet'] };
const out = path.join(bench.top, ...(FOLDERS[kind] ?? ['target', 'look', 'page']));
const ends = [];
const shared = { after: (end) => ends.push(end) };

/** Of the README: name, screen, view, theme, and what stands at the top of the picture. */
const SHOWN = [
  ['today', '/', bench.PHONE, 'light', '#next'],
  ['teeth', '/splines', bench.PHONE, 'light', '#teeth-RR h2'],
  ['corner', '/geometry/LR', bench.PHONE, 'dark', 'main h2'],
  ['joint', '/joints/hub-cover-left', bench.PHONE, 'sun', '.joint'],
];

async function shoot(page, file, options = {}) {
  await page.screenshot({ path: path.join(out, `${file}.png`), animations: 'disabled', ...options });
}

async function ofReadme(started, url) {
  for (const [name, at, view, theme, top] of SHOWN) {
    const it = await bench.device(started, url, { view, theme });
    await it.go(at);
    await it.page.locator(top).first().evaluate((element) =>
      scrollTo({ top: element.getBoundingClientRect().top + scrollY - 6, behavior: 'instant' }));
    await shoot(it.page, name);
    await it.context.close();
  }
}

const fileOf = (at) => at.replaceAll(/[^a-zA-Z0-9]+/g, '-').replaceAll(/^-|-$/g, '') || 'today';

async function ofAll(started, url) {
  const first = await bench.device(started, url);
  const found = await bench.screens(first.page, url);
  for (const theme of bench.THEMES) {
    for (const [name, view] of [['phone', bench.PHONE], ['laptop', bench.LAPTOP]]) {
      const it = await bench.device(started, url, { view, theme });
      for (const at of found) {
        await it.go(at);
        await shoot(it.page, `${fileOf(at)}-${name}-${theme}`, { fullPage: true });
        if (name === 'laptop') {
          await it.page.pdf({
            path: path.join(out, `${fileOf(at)}-print-${theme}.pdf`), format: 'A4',
            printBackground: true,
          });
        }
      }
      await it.context.close();
    }
  }
}

/** Every view, whole, and every printed page. */
async function ofSheet(started, address) {
  const whole = { fullPage: true };
  for (const { name, view, dark } of VIEWS) {
    const context = await started.newContext({
      viewport: view, isMobile: view.width < 600, colorScheme: dark ? 'dark' : 'light',
      reducedMotion: 'reduce',
    });
    const page = await context.newPage();
    await page.goto(address);
    await shoot(page, fileOf(name), whole);
    await context.close();
  }
  const context = await started.newContext({ viewport: null });
  const page = await context.newPage();
  await page.goto(address);
  for (const { name, width, height } of PAPERS) {
    const file = path.join(out, name);
    await page.pdf({ path: `${file}.pdf`, width: `${width}in`, height: `${height}in` });
    execFileSync('pdftoppm', ['-r', '80', '-png', `${file}.pdf`, file]);
  }
}

try {
  await rm(out, { recursive: true, force: true });
  await mkdir(out, { recursive: true });
  const started = await bench.browser(shared);
  if (kind === '--sheet') {
    await ofSheet(started, pathToFileURL(sheet).href);
  } else {
    const { url } = await bench.serve(shared, await bench.demoBook(shared));
    await (kind === '--readme' ? ofReadme : ofAll)(started, url);
  }
  console.log(`   pictures in ${out}`);
} finally {
  while (ends.length > 0) await ends.pop()();
}

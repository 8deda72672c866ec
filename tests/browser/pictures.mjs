// Pictures of the page: every screen on a phone, a laptop and on paper, in every theme, for whoever
// works on it; with --readme the few that the README shows.
import { mkdir, rm } from 'node:fs/promises';
import path from 'node:path';
import * as bench from './bench.mjs';

const readme = process.argv.includes('--readme');
const out = path.join(bench.top, ...(readme ? ['docs', 'pictures'] : ['target', 'look', 'page']));
const ends = [];
const shared = { after: (end) => ends.push(end) };

/** Of the README: name, screen, view, theme, and what of the screen. */
const SHOWN = [
  ['today', '/', bench.PHONE, 'light'],
  ['splines', '/splines', bench.PHONE, 'light'],
  ['geometry', '/geometry/LR', bench.PHONE, 'dark'],
  ['joint', '/joints/hub-cover-left', bench.PHONE, 'sun'],
];

async function shoot(page, file, options = {}) {
  await page.screenshot({ path: path.join(out, `${file}.png`), animations: 'disabled', ...options });
}

async function ofReadme(started, url) {
  for (const [name, at, view, theme] of SHOWN) {
    const it = await bench.device(started, url, { view, theme });
    await it.go(at);
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

try {
  await rm(out, { recursive: true, force: true });
  await mkdir(out, { recursive: true });
  const { url } = await bench.serve(shared, await bench.demoBook(shared));
  const started = await bench.browser(shared);
  await (readme ? ofReadme : ofAll)(started, url);
  console.log(`   pictures in ${out}`);
} finally {
  while (ends.length > 0) await ends.pop()();
}

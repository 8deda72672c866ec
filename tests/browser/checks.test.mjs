// Each check of the sheet against a sample that it must catch.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { writeFile } from 'node:fs/promises';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import * as bench from './bench.mjs';
import { PAPERS, VIEWS, lost, onPaper, onScreen, readPages, torn } from './sheet.mjs';

/** A sheet without a fault, of everything that a sheet has. Its widths depend on no typeface. */
const GOOD = `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Sample sheet</title>
<style>
  :root { color-scheme: light dark; --ground: #fff; --ink: #1a1a1a; }
  @media (prefers-color-scheme: dark) { :root { --ground: #16181b; --ink: #ececec; } }
  body { background: var(--ground); color: var(--ink); font: 16px/1.5 sans-serif; margin: 1rem; }
  svg { max-width: 100%; break-inside: avoid; }
  svg text { fill: var(--ink); }
  .soft { font-size: 14px; }
  .wide { overflow-x: auto; }
  td { min-width: 50px; }
  summary { min-height: 48px; min-width: 48px; }
  .caution { break-inside: avoid; }
  h2 { break-after: avoid; }
</style>
</head>
<body><main>
<h1>Plate angle</h1>
<p>Free angle at the target, left: 27.9 deg.</p>
<p class="soft">From the load at ride and the rate of the bar.</p>
<details><summary>Why</summary><p>Worked out from what was measured.</p></details>
<div class="wide" tabindex="0"><table><tr>${'<td>7</td>'.repeat(10)}</tr></table></div>
<svg width="300" height="120" viewBox="0 0 300 120" role="img" aria-label="Plate, side view">
  <path d="M20 30L280 80" stroke="currentColor" stroke-width="3"/>
  <text x="120" y="30" font-size="16">11.0°</text>
</svg>
<div style="height: 500px"></div>
</main></body>
</html>
`;
/** What is put in place of something in the good sheet, and what must notice it. */
const SAMPLES = [
  ['scrolls sideways', '.wide { overflow-x: auto; }', '', ['nothing sideways, cut off or small']],
  ['no line about the viewport',
    '<meta name="viewport" content="width=device-width, initial-scale=1">', '', ['layout width']],
  ['small letters', '{ font-size: 14px; }', '{ font-size: 9px; }', ['letters large enough']],
  ['pale words', '{ font-size: 14px; }', '{ color: #999; }', ['accessible']],
  ['pale words in a drawing', 'text { fill: var(--ink); }', 'text { fill: #999; }',
    ['words of drawings dark enough']],
  ['asks for a picture elsewhere', '</main>', '<img src="nowhere.png" alt="none"></main>',
    ['nothing asked for outside', 'no complaints']],
  ['a drawing without a name', ' role="img" aria-label="Plate, side view"', '',
    ['named drawings']],
  ['no language', '<html lang="en">', '<html>', ['accessible']],
  ['a torn caution', '</main>', `<div style="break-before: page; height: 850px"></div>
    <div class="caution" style="break-inside: auto"><p>Never on the jack.</p>
    <div style="height: 300px"></div><p>Stands hold.</p></div></main>`,
  ['what belongs together on one page']],
  ['a heading left alone', '</main>', '<h2 style="break-after: page">Joints</h2><p>M10</p></main>',
    ['what belongs together on one page']],
  ['a word outside its drawing', 'x="120"', 'x="290"', ['no word cut off', 'every word printed']],
  ['a drawing that may be split', 'max-width: 100%; break-inside: avoid;', 'max-width: 100%;',
    ['drawings kept whole']],
  ['an empty page', '</main>',
    '<p style="break-before: page; break-after: page; height: 1px"></p><p>End</p></main>',
    ['no empty page']],
  ['a word beside the paper', '</style>',
    '@media print { .soft { position: absolute; left: -900px } }</style>',
    ['no word cut off', 'every word printed']],
];

describe('checks of the sheet', () => {
  let started, place;
  const ends = [];
  const shared = { after: (end) => ends.push(end) };
  before(async () => {
    started = await bench.browser(shared);
    place = await bench.folder(shared);
  });
  after(async () => {
    while (ends.length > 0) await ends.pop()();
  });

  const caught = async (html) => {
    const file = path.join(place, 'sample.html');
    await writeFile(file, html);
    const at = pathToFileURL(file).href;
    const views = [await onScreen(started, at, VIEWS[0]), await onPaper(started, at, PAPERS[0])];
    const all = views.flatMap((found) => Object.entries(found));
    return all.filter(([, faults]) => faults.length > 0);
  };
  test('a good sample has no fault', async () => assert.deepEqual(await caught(GOOD), []));
  for (const [what, find, put, wanted] of SAMPLES) {
    test(`caught: ${what}`, async () => {
      assert.equal(GOOD.split(find).length, 2, find);
      const found = await caught(GOOD.replace(find, () => put));
      assert.deepEqual(found.map(([name]) => name), wanted, JSON.stringify(found));
    });
  }

  test('what a reader of PDF says is understood', () => {
    const pages = readPages('<page width="595.276000" height="841.890000">\n' +
      '  <word xMin="40" yMin="50" xMax="90" yMax="60">ZQ0QZPlate</word>\n' +
      '  <word xMin="40" yMin="50" xMax="90" yMax="60">measure</word>\n' +
      '</page>\n<page width="612.000000" height="792.000000">\n' +
      '  <word xMin="40" yMin="50" xMax="90" yMax="60">mentsZQ1QZ</word>\n</page>\n');
    assert.deepEqual(pages.map(({ words }) => words.length), [2, 1]);
    assert.equal(pages[1].width, 8.5);
    const pairs = [['ZQ0QZ', 'ZQ1QZ', 'a'], ['ZQ7QZ', 'ZQ0QZ', 'b']];
    assert.deepEqual(torn(pairs, pages), ['a, pages 1 and 2']);
    assert.deepEqual(torn([['ZQ7QZ', 'ZQ8QZ', 'b']], pages), ['no mark came out in print']);
    const texts = [{ words: 'Measurements, ments' }, { words: 'angle' }];
    assert.deepEqual(lost(texts, pages), ['ments', 'angle']);
  });
});

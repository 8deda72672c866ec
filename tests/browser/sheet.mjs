// What is looked for on a sheet: on a phone, on a laptop, and on paper. It depends on no typeface:
// whatever letters the machine has, words have to fit.
import { execFile } from 'node:child_process';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { promisify } from 'node:util';
import * as bench from './bench.mjs';

export const VIEWS = [
  { name: 'phone, light', view: bench.PHONE, dark: false },
  { name: 'phone, dark', view: bench.PHONE, dark: true },
  { name: 'laptop, light', view: bench.LAPTOP, dark: false },
  { name: 'laptop, dark', view: bench.LAPTOP, dark: true },
];
/** ISO 216 A4 is 210 × 297 mm, Letter 8½ × 11 in; inches here. */
export const PAPERS = [
  { name: 'A4', width: 210 / 25.4, height: 297 / 25.4 },
  { name: 'Letter', width: 8.5, height: 11 },
];
/** Smaller letters cannot be read at arm's length in a garage. Common practice, no source. */
const LETTERS_PX = 12;
/** WCAG 2.2, success criterion 1.4.3, for letters of ordinary size; asked of all sizes here. */
const CONTRAST = 4.5;
/**
 * Widest margin that printers are set to by their drivers as a rule; what fits between two of these
 * fits with narrower ones. Common practice, no source.
 */
const MARGIN_INCHES = 15 / 25.4;

/** Opens a sheet; `asked` is what it fetched from elsewhere and what it complained of. */
async function open(started, address, options) {
  const context = await started.newContext({ reducedMotion: 'reduce', ...options });
  context.setDefaultTimeout(bench.PATIENCE);
  const page = await context.newPage();
  const [asked, complaints] = [[], []];
  context.on('request', (request) => {
    const to = request.url().split('#')[0];
    if (to !== address && !to.startsWith('data:') && !to.startsWith('blob:')) asked.push(to);
  });
  page.on('console', (said) => {
    if (said.type() === 'error') complaints.push(said.text());
  });
  page.on('pageerror', (error) => complaints.push(error.message));
  await page.goto(address, { waitUntil: 'load' });
  await settled(page);
  return { context, page, asked, complaints };
}

/** Waits until the letters are there and two frames were drawn. */
const settled = (page) => page.evaluate(() => document.fonts.ready.then(() =>
  new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))));

/**
 * What stands on the page, as plain data: each run of words with its size, its contrast if it
 * belongs to a drawing, and whether its box or the page cuts it off; and the drawings.
 */
const read = (page) => page.evaluate(() => {
  const shown = (element) =>
    element.checkVisibility({ visibilityProperty: true, opacityProperty: true });
  const scale = (element) => {
    const m = element instanceof SVGElement && element.getScreenCTM?.();
    return m ? Math.sqrt(Math.abs(m.a * m.d - m.b * m.c)) : 1;
  };
  // Words outside the page, outside their drawing, or outside a box that hides or scrolls what runs
  // over.
  const isCut = (element, boxes) => {
    let [left, right] = [0, document.documentElement.clientWidth];
    let [top, bottom] = [-Infinity, Infinity];
    for (let e = element; e && e !== document.body; e = e.parentElement) {
      const drawing = e.tagName === 'svg';
      if (e instanceof SVGElement && !drawing) continue;
      const { overflowX, display } = getComputedStyle(e);
      if (overflowX === 'visible' || (display === 'inline' && !drawing)) continue;
      const box = e.getBoundingClientRect();
      left = Math.max(left, box.left + scrollX);
      right = Math.min(right, box.right + scrollX);
      if (drawing) [top, bottom] = [box.top + scrollY, box.bottom + scrollY];
    }
    return boxes.some(([x, y, width, height]) =>
      x < left - 1 || x + width > right + 1 || y < top - 1 || y + height > bottom + 1);
  };
  // Relative luminance and contrast ratio: WCAG 2.2, definitions; sRGB. Any colour that a style
  // sheet can say, as the browser itself paints it.
  const pen = document.createElement('canvas').getContext('2d', { willReadFrequently: true });
  const luminance = (colour, under) => {
    pen.fillStyle = under;
    pen.fillRect(0, 0, 1, 1);
    pen.fillStyle = colour;
    pen.fillRect(0, 0, 1, 1);
    const [r, g, b] = [...pen.getImageData(0, 0, 1, 1).data].map((c) =>
      (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const { backgroundColor } = getComputedStyle(e);
      if (!/^(transparent|rgba\(.*, 0\))$/.test(backgroundColor)) return backgroundColor;
    }
    return '#fff';
  };
  const contrast = (element) => {
    const under = ground(element);
    const [ink, paper] = [getComputedStyle(element).fill, under].map((c) => luminance(c, under));
    return (Math.max(ink, paper) + 0.05) / (Math.min(ink, paper) + 0.05);
  };
  const texts = [];
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const [words, element] = [node.textContent.trim(), node.parentElement];
    if (!words || element.closest('script, style, title, desc') || !shown(element)) continue;
    // What is clipped away whole is for listeners, and is never painted.
    if (getComputedStyle(element).clipPath !== 'none') continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const boxes = [...range.getClientRects()].filter((box) => box.width > 1 && box.height > 1)
      .map((box) => [box.left + scrollX, box.top + scrollY, box.width, box.height]);
    if (boxes.length === 0) continue;
    const size = parseFloat(getComputedStyle(element).fontSize) * scale(element);
    const drawn = element instanceof SVGElement ? contrast(element) : null;
    texts.push({ words, size, drawn, cut: isCut(element, boxes) });
  }
  const label = (svg) => svg.outerHTML.slice(0, 60).replace(/\s+/g, ' ');
  const kept = (svg) => {
    for (let e = svg; e && e !== document.body; e = e.parentElement) {
      if (getComputedStyle(e).breakInside.startsWith('avoid')) return true;
    }
    return false;
  };
  const drawings = [...document.querySelectorAll('svg')].filter((svg) =>
    shown(svg) && !svg.closest('[aria-hidden=true]') && svg.getBoundingClientRect().width > 0);
  return {
    width: document.documentElement.clientWidth, texts,
    unnamed: drawings.filter((svg) => !svg.getAttribute('aria-label') &&
      !svg.getAttribute('aria-labelledby') && !svg.querySelector(':scope > title')).map(label),
    split: drawings.filter((svg) => svg.getBoundingClientRect().height > 60 && !kept(svg))
      .map(label),
  };
});

/**
 * Opens what is folded: all of it, or one of each kind, told by the elements and classes in it. A
 * sheet repeats the same table a hundred times, and looking at all of them shows nothing new.
 */
const unfold = (page, all) => page.evaluate((all) => {
  const seen = new Set();
  for (const fold of document.querySelectorAll('details')) {
    const parts = [...fold.querySelectorAll('*')].map((e) => `${e.tagName}.${e.className}`);
    const kind = [...new Set(parts)].sort().join(' ');
    fold.open = all || !seen.has(kind);
    seen.add(kind);
  }
}, all);

/** What is wrong with a sheet in one view, under the names of what was looked for. */
export async function onScreen(started, address, { view, dark }) {
  const it = await open(started, address, {
    viewport: view, isMobile: view.width < 600, hasTouch: view.width < 600,
    colorScheme: dark ? 'dark' : 'light',
  });
  const { context, page, asked, complaints } = it;
  await unfold(page, true);
  await settled(page);
  const state = await read(page);
  const whole = await bench.cutOff(page);
  await unfold(page, false);
  await settled(page);
  const access = await bench.access(page);
  await context.close();
  const small = state.texts.filter(({ size }) => size < LETTERS_PX - 0.01);
  const pale = state.texts.filter(({ drawn }) => drawn !== null && drawn < CONTRAST);
  return {
    'layout width': state.width === view.width ? [] : [`${state.width} px for ${view.width} px`],
    'nothing sideways, cut off or small': whole,
    'letters large enough': state.texts.length === 0 ? ['no text at all']
      : small.map(({ words, size }) => `${words.slice(0, 40)} at ${size.toFixed(1)} px`),
    'words of drawings dark enough': pale.map(({ words, drawn }) =>
      `${words.slice(0, 40)} ${drawn.toFixed(2)}:1`),
    'accessible': access,
    'named drawings': state.unnamed,
    'nothing asked for outside': asked,
    'no complaints': complaints,
  };
}

/**
 * Sets marks that survive printing, so that it can be asked on which page something came out: at
 * both ends of what must stay on one page, and at headings and what follows them. Gives
 * [mark, mark, words] for each pair that must share a page.
 */
const mark = (page, height) => page.evaluate((height) => {
  let count = 0;
  const made = () => {
    const span = document.createElement('span');
    span.textContent = `ZQ${count++}QZ`;
    span.style.cssText = 'all:initial;position:absolute;font-size:3px;color:#000';
    return span;
  };
  const words = (element) => element.textContent.trim().replace(/\s+/g, ' ').slice(0, 50);
  const visible = (element) => element.checkVisibility({ visibilityProperty: true });
  const cells = (element) =>
    (element.tagName === 'TR' ? [...element.querySelectorAll('td, th')] : [element]);
  const kept = [...document.querySelectorAll('body *')].filter((element) => {
    if (element instanceof SVGElement || !visible(element) || !element.firstChild) return false;
    const tall = element.getBoundingClientRect().height;
    if (tall === 0 || tall > 0.8 * height) return false;
    if (element.matches('table, thead, tbody, details, dl, [class*=heading]')) return false;
    return element.matches('figure, [class*=caution]') ||
      getComputedStyle(element).breakInside.startsWith('avoid');
  });
  const outer = kept.filter((element) => !kept.some((other) => other !== element &&
    other.contains(element)));
  const headings = [...document.querySelectorAll('h1, h2, h3, h4')].filter(visible);
  const follows = (heading) => {
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    walker.currentNode = heading;
    for (let node = walker.nextNode(); node; node = walker.nextNode()) {
      const parent = node.parentElement;
      if (heading.contains(node) || !node.textContent.trim() || !visible(parent)) continue;
      if (!parent.closest('script, style, title, desc')) return parent.closest('svg') ?? node;
    }
    return null;
  };
  const pairs = [];
  const pair = (what, set) => {
    const [from, to] = [made(), made()];
    set(from, to);
    pairs.push([from.textContent, to.textContent, what]);
  };
  const next = headings.map(follows);
  for (const element of outer) {
    const [first, last] = [cells(element)[0], cells(element).at(-1)];
    if (!first) continue;
    pair(`torn apart: “${words(element)}”`, (from, to) => {
      first.prepend(from);
      last.append(to);
    });
  }
  headings.forEach((heading, at) => {
    if (!next[at]) return;
    pair(`heading left alone: “${words(heading)}”`, (from, to) => {
      heading.append(from);
      next[at].before(to);
    });
  });
  return pairs;
}, height);

const call = promisify(execFile);

/** The pages of a print as a reader of PDF sees them: size in inches, and words. */
async function printed(page, paper) {
  const folder = await mkdtemp(path.join(tmpdir(), 'axlewright-print-'));
  try {
    const file = path.join(folder, 'sheet.pdf');
    // As from any window: with nothing emulated, the rules for print are the browser's own affair.
    await page.emulateMedia({ media: null, colorScheme: null });
    const margin = { top: '10mm', bottom: '10mm', left: '10mm', right: '10mm' };
    const [width, height] = [`${paper.width}in`, `${paper.height}in`];
    await page.pdf({ path: file, width, height, margin, printBackground: false });
    const { stdout } = await call('pdftotext', ['-bbox', file, '-'], { maxBuffer: 1 << 28 });
    return readPages(stdout);
  } finally {
    await rm(folder, { recursive: true, force: true });
  }
}

/** Reads `pdftotext -bbox`: a `<page>` for each page, in points, and a `<word>` for each word. */
export function readPages(boxes) {
  const pages = [];
  for (const line of boxes.split('\n')) {
    const size = line.match(/<page width="([\d.]+)" height="([\d.]+)"/);
    if (size) pages.push({ width: size[1] / 72, height: size[2] / 72, words: [] });
    const word = line.match(/<word [^>]*>(.*)<\/word>/);
    if (word) pages.at(-1)?.words.push(word[1]);
  }
  return pages;
}

/**
 * Words of the page that are not on the paper. A word is a run of plain letters and digits, which
 * every typeface has; a long one may have been broken at the end of a line.
 */
export function lost(texts, pages) {
  const words = (text) => text.toLowerCase().match(/[a-z0-9]{2,}/g) ?? [];
  const all = pages.flatMap((page) => page.words);
  const there = new Set(all.flatMap(words));
  const joined = all.join('').toLowerCase();
  const wanted = new Set(texts.flatMap((text) => words(text.words)));
  const broken = (word) => word.length > 5 && joined.includes(word);
  return [...wanted].filter((word) => !there.has(word) && !broken(word));
}

/** Pairs of marks that came out on different pages; one that is hidden on paper tells nothing. */
export function torn(pairs, pages) {
  const texts = pages.map((page) => page.words.join(' '));
  // What comes first on a page may be painted in the foot of the one before as well.
  const pageOf = (mark) => texts.findLastIndex((text) => text.includes(mark)) + 1;
  const found = pairs.map(([from, to, what]) => [pageOf(from), pageOf(to), what])
    .filter(([from, to]) => from > 0 && to > 0);
  if (found.length === 0 && pairs.length > 0) return ['no mark came out in print'];
  return found.filter(([from, to]) => from !== to)
    .map(([from, to, what]) => `${what}, pages ${from} and ${to}`);
}

/** What is wrong with a sheet on one paper, under the names of what was looked for. */
export async function onPaper(started, address, paper) {
  // Laid out as wide as the print will be, so that rules for print can be asked about. The browser
  // shrinks what is too wide and drops what runs over, so the paper alone shows neither.
  const pixels = (inches) => Math.floor(inches * 96);
  const height = pixels(paper.height);
  const viewport = { width: pixels(paper.width - 2 * MARGIN_INCHES), height };
  const laid = await open(started, address, { viewport });
  await laid.page.emulateMedia({ media: 'print', colorScheme: 'light' });
  await settled(laid.page);
  const state = await read(laid.page);
  await laid.context.close();
  const it = await open(started, address, { viewport: null });
  const pages = await printed(it.page, paper);
  await it.page.emulateMedia({ media: 'print', colorScheme: 'light' });
  const pairs = await mark(it.page, height);
  const marked = await printed(it.page, paper);
  await it.context.close();
  const near = (a, b) => Math.abs(a - b) < 0.02;
  const wrong = pages.filter(({ width, height }) =>
    !near(width, paper.width) || !near(height, paper.height));
  return {
    'what belongs together on one page': torn(pairs, marked),
    'drawings kept whole': state.split,
    'paper of the right size': pages.length === 0 ? ['nothing was printed']
      : wrong.map(({ width, height }) => `${width} × ${height} in`),
    'no empty page': pages.flatMap(({ words }, at) =>
      (words.length > 0 ? [] : [`page ${at + 1} of ${pages.length}`])),
    'no word cut off': state.texts.filter(({ cut }) => cut).map(({ words }) => words.slice(0, 40)),
    'every word printed': lost(state.texts, pages),
  };
}

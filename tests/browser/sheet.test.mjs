// The sheet as a person sees it, on a screen and on paper.
import assert from 'node:assert/strict';
import { after, before, describe, test } from 'node:test';
import { readdir } from 'node:fs/promises';
import path from 'node:path';
import { pathToFileURL } from 'node:url';
import * as bench from './bench.mjs';
import { PAPERS, VIEWS, onPaper, onScreen } from './sheet.mjs';

describe('sheet', () => {
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

  /** The sheet to look at: the demo's, unless another one is named. */
  const address = async () => {
    const named = process.env.AXLEWRIGHT_SHEET;
    if (named) return pathToFileURL(named).href;
    let folder = process.env.AXLEWRIGHT_DEMO;
    if (!folder) {
      folder = place;
      await bench.axlewright('demo', '--once', '--out', folder);
    }
    const found = (await readdir(folder)).find((name) => name.endsWith('.html'));
    assert.ok(found, 'the demo wrote no sheet');
    return pathToFileURL(path.join(folder, found)).href;
  };

  const clean = (found) => assert.deepEqual(Object.entries(found).flatMap(([what, faults]) =>
    faults.map((fault) => `${what}: ${fault}`)), []);
  for (const view of VIEWS) {
    test(`whole and readable: ${view.name}`, async () => {
      clean(await onScreen(started, await address(), view));
    });
  }
  for (const paper of PAPERS) {
    test(`prints on ${paper.name}`, async () => {
      clean(await onPaper(started, await address(), paper));
    });
  }
});

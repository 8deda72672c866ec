// How long a telephone waits: from a tap until something stands on the screen, and how long from
// `demo` to its first answer. Times, not tests: `cargo xtask bench` prints them.
import { spawn } from 'node:child_process';
import { performance } from 'node:perf_hooks';
import path from 'node:path';
import { createInterface } from 'node:readline';
import * as bench from './bench.mjs';

/** A weak telephone: bits a second, milliseconds to and fro, how much slower its processor is. */
const PROFILES = [
  { bits: 10e6, to_and_fro: 20, slower: 4 },
  // As through a bad mobile network, or three walls.
  { bits: 1.6e6, to_and_fro: 150, slower: 4 },
];
const LOADS = 5;
const SCREENS = ['/', '/order', '/splines', '/geometry/LR', '/joints/hub-cover-left', '/wheels',
  '/wheels/forecast', '/parts', '/marks', '/log', '/dossier'];

const ends = [];
const shared = { after: (end) => ends.push(end) };
const median = (all) => [...all].sort((a, b) => a - b)[Math.floor(all.length / 2)];

/** Starts the demo in an empty folder; milliseconds to its address and to its first screen. */
async function demo() {
  const out = await bench.folder(shared);
  const begun = performance.now();
  const child = spawn(bench.program, ['demo', '--no-open', '--serve', '--port', '0', '--out', out],
    { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, AXLEWRIGHT_BY: 'Ann' } });
  const ended = new Promise((resolve) => child.once('exit', resolve));
  const url = await new Promise((resolve, reject) => {
    for (const stream of [child.stdout, child.stderr]) {
      createInterface({ input: stream }).on('line', (line) => {
        const found = line.match(/http:\/\/127\.0\.0\.1:\d+\//);
        if (found) resolve(found[0]);
      });
    }
    ended.then((code) => reject(new Error(`demo ended with ${code}`)));
  });
  const said = performance.now() - begun;
  const answer = await fetch(url);
  await answer.text();
  const shown = performance.now() - begun;
  child.kill('SIGTERM');
  await ended;
  if (answer.status !== 200) throw new Error(`the demo's first screen: ${answer.status}`);
  return { said, shown };
}

/** A first visit, nothing kept from before: milliseconds to the first words. */
async function paint(started, url, at, profile) {
  const it = await bench.device(started, url);
  const line = await it.context.newCDPSession(it.page);
  await line.send('Network.enable');
  await line.send('Network.emulateNetworkConditions', {
    offline: false, latency: profile.to_and_fro,
    downloadThroughput: profile.bits / 8, uploadThroughput: profile.bits / 8,
  });
  await line.send('Emulation.setCPUThrottlingRate', { rate: profile.slower });
  await it.go(at);
  const first = await it.page.evaluate(() => new Promise((resolve) => {
    new PerformanceObserver((list) => {
      const [entry] = list.getEntriesByName('first-contentful-paint');
      if (entry) resolve(entry.startTime);
    }).observe({ type: 'paint', buffered: true });
  }));
  await it.context.close();
  return first;
}

try {
  const starts = [];
  for (let n = 0; n < LOADS; n += 1) starts.push(await demo());
  const [said, shown] = ['said', 'shown'].map((key) => median(starts.map((each) => each[key])));
  console.log(`demo: ready after ${said.toFixed(0)} ms, its first screen after ` +
    `${shown.toFixed(0)} ms (median of ${LOADS})\n`);

  const { url } = await bench.serve(shared, await bench.demoBook(shared));
  const started = await bench.browser(shared);
  const names = PROFILES.map(({ bits, to_and_fro, slower }) =>
    `${bits / 1e6} Mbit/s, ${to_and_fro} ms, processor 1/${slower}`);
  console.log('first words on the screen, ms, nothing kept from before: median (longest) of ' +
    `${LOADS}\n\n| screen | ${names.join(' | ')} |\n|---|${'---|'.repeat(names.length)}`);
  for (const at of SCREENS) {
    const cells = [];
    for (const profile of PROFILES) {
      const all = [];
      for (let n = 0; n < LOADS; n += 1) all.push(await paint(started, url, at, profile));
      cells.push(`${median(all).toFixed(0)} (${Math.max(...all).toFixed(0)})`);
    }
    console.log(`| \`${at}\` | ${cells.join(' | ')} |`);
  }
} finally {
  while (ends.length > 0) await ends.pop()();
}

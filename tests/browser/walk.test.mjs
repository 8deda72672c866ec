// The whole job on a telephone: from an empty book to a dossier in which nothing is open.
import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { test } from 'node:test';
import * as bench from './bench.mjs';

const EMPTY = 'empty, half a tank';
const BEFORE = 'before strip-down';
const SIDES = ['left', 'right'];

/** A restorer with a telephone: what a thumb does on the screens. */
class Restorer {
  constructor(it) {
    this.it = it;
    this.page = it.page;
    this.main = it.page.locator('main');
  }

  /** Taps a button and waits for the page that says what was written. */
  async tap(button) {
    const before = await bench.seq(this.page);
    await button.click();
    const reason = this.page.locator('#told.refused');
    const written = this.page.locator('#told:not(.refused)');
    await written.or(reason).first().waitFor();
    if (await written.count() === 0) assert.fail(await reason.first().innerText());
    assert.ok(await bench.seq(this.page) > before, 'the log did not grow');
  }

  /** Fills in fields of a form by name, lists by choosing, and sends it. */
  async write(action, fields, button) {
    const form = this.main.locator(`form[method=post][action="${action}"]`)
      .filter({ has: this.page.getByRole('button', { name: button, exact: true }) }).first();
    for (const [name, value] of Object.entries(fields)) {
      const field = form.locator(`[name="${name}"]`);
      if (value === true) await field.check();
      else if (await field.evaluate((f) => f.tagName === 'SELECT')) await field.selectOption(value);
      else await field.fill(value);
    }
    await this.tap(form.getByRole('button', { name: button, exact: true }));
  }

  async read(what, side, value, more = {}) {
    await this.it.go('/readings');
    const known = ['sill level', 'plate angle', 'trim', 'camber', 'toe', 'corner weight'];
    const field = known.includes(what) ? 'what' : 'else';
    await this.write('/readings', { [field]: what, side, value, ...more }, 'Write this reading');
  }

  async part(id, happened, more = {}) {
    await this.it.go(`/parts/${id}`);
    await this.write(`/parts/${id}`, { happened, ...more }, 'Write it');
  }

  /** Every bolt of a joint: snug in order, then to its torque; then marked, if asked. */
  async tighten(joint, { position, value, marked = false }) {
    await this.it.go(`/joints/${joint}`);
    for (const state of marked ? ['snug', 'torqued', 'paint-marked'] : ['snug', 'torqued']) {
      const button = () => this.main.getByRole('button', { name: new RegExp(`^Bolt [A-Z]+: ${state}$`) });
      for (let n = 0; await button().count() > 0; n += 1) {
        assert.ok(n < 20, `${joint} has no end`);
        if (state === 'torqued') {
          await this.main.locator('[name=position]').selectOption(position);
          const field = this.main.locator('[name=value]');
          assert.equal(await field.inputValue(), '', `${joint}: a torque that nobody read`);
          // With an extension the wrench shows something else than the list.
          const shown = this.main.locator('.joint .reading .num').first();
          const reading = await shown.count() > 0 ? await shown.innerText() : '40 N m';
          await field.fill(value ?? reading);
        }
        await this.tap(button().first());
      }
    }
    // Where nothing forbids it, the joint asks for a name.
    if (await this.main.locator('#sign form').count() > 0) await this.sign();
  }

  async sign() {
    await this.write('/sign', { name: 'Ann', as_what: 'restorer' }, 'Sign');
  }

  async round(figures) {
    await this.it.go('/wheels');
    const fields = { load: EMPTY, settled: 'yes' };
    for (const [what, wheels] of Object.entries(figures)) {
      for (const [wheel, value] of Object.entries(wheels)) fields[`${what}.${wheel}`] = value;
    }
    await this.write('/wheels/round', fields, 'Write this round');
  }
}

/** What has to be read or tightened at a step, before it is done. */
const AT_STEP = {
  'ride-first': async (who, side) => {
    const how = { load: EMPTY, stage: BEFORE };
    await who.read('trim', side, side === 'left' ? '88 mm' : '91 mm', how);
    await who.read('damper length', side, side === 'left' ? '358 mm' : '361 mm', how);
  },
  'angles-first': async (who, side) => {
    const how = { arrow: 'nose', stage: BEFORE };
    await who.read('sill level', side, '0.4 deg', { ...how, turned: '0.2 deg' });
    await who.read('plate angle', side, side === 'left' ? '10.2 deg' : '10.6 deg', how);
  },
  'droop-first': async (who, side) => {
    await who.read('plate angle at droop', side, '22.6 deg', { arrow: 'nose', stage: BEFORE });
  },
  marks: async (who, side) => {
    await who.it.go('/marks');
    await who.write('/marks', {
      mark: `${side} rear eccentric`, one: `rear-eccentric-set-${side}`, other: `arm-${side}`, side,
    }, 'Write this mark');
  },
  'plate-read': async (who, side) => {
    await who.read('sill level', side, '0.3 deg', { arrow: 'nose', turned: '0.1 deg' });
    await who.it.go('/splines');
    const fit = {
      'reading.value': side === 'left' ? '35.2 deg' : '27.1 deg', 'reading.arrow': 'nose',
      'reading.hung': 'plate', 'reading.lash': 'lifted', 'reading.seat': 'reference line',
      anchor_at: '12', plate_at: '6',
    };
    const button = 'Write this attempt';
    const form = who.main.locator(`#attempts-${side} form`);
    for (const [name, value] of Object.entries(fit)) {
      const field = form.locator(`[name="${name}"]`);
      if (await field.evaluate((f) => f.tagName === 'SELECT')) await field.selectOption(value);
      else await field.fill(value);
    }
    // What it would mean stands there before it is written.
    await who.main.locator(`#preview-${side}`).getByText('If this is written').waitFor();
    await who.tap(form.getByRole('button', { name: button }));
    assert.match(await who.main.locator(`#attempts-${side}`).innerText(), /Attempt 1/);
  },
  'pivot-torque': (who, side) => who.tighten(`inner-pivot-${side}`, { position: 'ride' }),
  'cover-torque': (who, side) => who.tighten(`hub-cover-${side}`, { position: 'hang', marked: true }),
  'arm-torque': (who, side) => who.tighten(`arm-to-plate-${side}`, { position: 'hang' }),
  'stop-bolt-in': (who, side) => who.tighten(`stop-bolt-${side}`, {
    position: 'stop bolt clear', value: '4.6 kgf m',
  }),
  'corner-torque': async (who, side) => {
    const position = 'stop bolt clear';
    for (const joint of ['front-eccentric', 'rear-eccentric', 'damper-top', 'damper-bottom']) {
      await who.tighten(`${joint}-${side}`, { position });
    }
  },
  'hose-on': (who, side) => who.tighten(`hose-bracket-${side}`, { position: 'any' }),
  // None of his wrenches reaches it: a borrowed one shows what the list says.
  'hub-nut-torque': (who, side) => who.tighten(`hub-nut-${side}`, {
    position: 'wheels down', value: '32 kgf m',
  }),
  'round-one': (who) => who.round({
    weight: { LF: '210 kg', RF: '215 kg', LR: '288 kg', RR: '272 kg' },
    trim: { LR: '99 mm', RR: '94 mm' },
    camber: { LR: '-0.30 deg', RR: '-0.60 deg' },
    toe: { LR: '-0.04 deg', RR: '0.22 deg' },
  }),
  'first-road': async (who) => {
    await who.it.go('/wheels');
    await who.write('/wheels/recheck', { what: 'hub nuts', due_km: '100' }, 'Write it');
  },
  'check-100': async (who) => {
    await who.it.go('/wheels');
    await who.write('/wheels/recheck', { what: 'hub nuts', done_km: '100', found: 'as they were' },
      'Write it');
  },
};

async function hooks(who, id) {
  const side = SIDES.find((each) => id.endsWith(`-${each}`));
  const name = side ? id.slice(0, -side.length - 1) : id;
  await AT_STEP[name]?.(who, side);
}

test('on a telephone, from an empty book to a signed-off dossier', async (t) => {
  const book = await bench.emptyBook(t);
  const { url } = await bench.serve(t, book);
  const it = await bench.device(await bench.browser(t), url);
  const who = new Restorer(it);
  const { page, main } = who;

  // Empty: every screen says something, and the car's asks for what is missing.
  for (const at of ['/', '/order', '/splines', '/joints', '/wheels', '/parts', '/marks', '/log']) {
    await it.go(at);
    assert.ok((await main.innerText()).trim().length > 10, `${at} says nothing`);
    assert.deepEqual(await bench.cutOff(page), [], at);
  }
  await it.go('/settings');
  await page.getByLabel('Who is writing on this device').fill('Ann');
  await page.getByRole('button', { name: 'Save' }).click();
  await main.getByText('Saved for this device').waitFor();

  // The car, with a slip of the pen first.
  await it.go('/all');
  await main.getByRole('link', { name: /^Car\b/ }).click();
  await main.getByRole('link', { name: 'The car file’s text' }).click();
  const text = await bench.carFile();
  await page.getByLabel('Car file').fill(text.replace('"23.0 mm"', '"23.0 furlongs"'));
  await page.getByRole('button', { name: 'Look it through' }).click();
  await page.locator('#faults').getByText(/Line \d+/).first().waitFor();
  await page.getByLabel('Car file').fill(text);
  await page.getByRole('button', { name: 'Look it through' }).click();
  await main.getByText('Nothing is wrong in this text').waitFor();
  await who.tap(page.getByRole('button', { name: 'Write it into the book' }));

  // What is out comes back.
  await it.go('/parts');
  const parts = await main.locator('.part-list a').evaluateAll((links) => links
    .filter((link) => /\b(out|due)\b/.test(link.querySelector('b + span').textContent))
    .map((link) => link.getAttribute('href').split('/').at(-1)));
  assert.ok(parts.length >= 4, `only ${parts} are out`);
  for (const id of parts) await who.part(id, 'arrived');

  // Step by step, whatever Today says.
  const done = [];
  for (;;) {
    // Whoever has done a step stands before the next one.
    if (new URL(page.url()).pathname !== '/') await it.go('/');
    const open = main.getByRole('link', { name: 'Open this step' });
    if (await open.count() === 0) break;
    assert.ok(done.length < 200, `no end: ${done.slice(-5)}`);
    const path = await open.getAttribute('href');
    const id = path.split('/').at(-1);
    assert.ok(!done.includes(id), `${id} came twice`);
    await hooks(who, id);
    if (new URL(page.url()).pathname === '/') await open.click();
    else await it.go(path);
    await page.waitForURL(`**${path}`);
    // A caution stands before the work it warns of.
    const order = await main.evaluate((m) => {
      const [caution, work] = [m.querySelector('.next .caution'), m.querySelector('.next .work')];
      return caution ? Boolean(caution.compareDocumentPosition(work) & 4) : true;
    });
    assert.ok(order, `${id}: the caution stands after the work`);
    // The step that fits a bar asks which one it was.
    const bar = /^bar-in-(left|right)$/.exec(id);
    await who.write(path, { minutes: '12', ...(bar && { fitted: `bar-${bar[1]}` }) }, 'Done');
    done.push(id);
    // A hold point asks for a name at once; nothing else does.
    if (new URL(page.url()).pathname === path) await who.sign();
    else assert.equal(new URL(page.url()).pathname, '/');
  }
  await main.getByText('Nothing is left to do').waitFor();
  assert.ok(done.length >= 100, `${done.length} steps`);
  assert.equal(done.at(-1), 'handover');
  console.log(`      ${done.length} steps, ${await bench.seq(page)} entries`);

  // The record of it.
  await it.go('/dossier');
  await main.locator('#open').getByText('Not signed').waitFor();
  await who.sign();
  await main.locator('#open').getByText('By what was written nothing is open').waitFor();
  const download = page.waitForEvent('download');
  await main.getByRole('link', { name: 'Keep the dossier' }).click();
  const kept = await readFile(await (await download).path(), 'utf8');
  const paper = await it.context.newPage();
  await paper.setContent(kept);
  const open = await paper.locator('#open').innerText();
  assert.match(open, /nothing is open/i);
  it.fine();
});

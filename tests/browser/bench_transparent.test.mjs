// A transparent gauge of three sections rebuilt on a tablet with every button pressed twice in quick
// succession, as gloves do, and its sheet on paper.

import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { TRANSPARENT, benchPlant, transparent } from './bench_world.mjs';
import { command, openBrowser, textOf } from './harness.mjs';

/** Two presses so close that the page cannot have changed between them. */
async function twice(person, name) {
  const button = person.page.getByRole('button', { name, exact: typeof name === 'string' }).first();
  await Promise.all([person.page.waitForEvent('load'), button.dblclick()]);
}

describe('a transparent gauge of three sections, every button pressed twice', { concurrency: 1, timeout: 900_000 }, () => {
  let browser;
  let folder;
  let plant;
  let people;
  let sheet;

  before(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    browser = await openBrowser();
    ({ plant, people } = await benchPlant(browser, folder));
    sheet = transparent(people.technician, { presses: twice });
  });

  after(async () => {
    await browser?.close();
    await plant?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  it('has its plan, limits, cautions and fields on paper, in A4 and Letter', async () => {
    const { person } = sheet;
    await sheet.open();
    for (const size of ['A4', 'Letter']) {
      const link = person.page.getByRole('link', { name: size, exact: true });
      const file = await person.download(link, folder);
      const text = await textOf(file);
      for (const words of [
        TRANSPARENT,
        'TR-T-201',
        'SW-K-320T',
        '40 ft·lbf',
        'Passes: 5 ft·lbf, 10 ft·lbf, 15 ft·lbf',
        '1500 psi',
        '5 min',
        '0.002 in',
        'Permit',
        '3 cover recess at the back',
        'Glass and gaskets are thrown away, always',
        'Never tighten a gauge under pressure',
        'Vent all air',
        'SW-K-320T-NEW (30 on hand)',
        'Name, date and time',
      ]) {
        assert.ok(text.toLowerCase().includes(words.toLowerCase()), `${size} should say ${words}; it says: ${text}`);
      }
    }
  });

  it('is rebuilt, and each press made one record', async () => {
    const { person } = sheet;
    await sheet.start();
    await sheet.makeSafe();
    await sheet.strip();
    await sheet.renewBolting();
    await sheet.inspect();
    await sheet.takeKits();
    await sheet.assemble();
    await sheet.tighten();
    // Made safe, stripped, bolting, twelve faces, assembled, three sections tightened.
    assert.equal(await sheet.entries(), 4 + sheet.faces + sheet.sections);
    await sheet.sendToTest();
    await sheet.beginHold();
    await plant.kill();
    await plant.again(6);
    await sheet.open();
    await sheet.endHold();
    await sheet.returnIt();
    await person.goto(`/gauges/${TRANSPARENT}/history`);
    const history = await person.words();
    assert.equal(history.match(/SW-T-\d{4}-\d{4}/g)?.length >= 1, true, history);
    await people.storekeeper.goto('/storeroom/kits/SW-K-320T/lots/SW-K-320T-NEW');
    await people.storekeeper.reads('holds 27');
    await person.goto('/pressure-tests');
    await person.reads('1 test waits for a witness');
    const copy = path.join(folder, 'register.db');
    assert.equal((await command('backup', '--data', plant.folder, copy)).code, 0);
    const verified = await command('verify', '--data', folder);
    assert.equal(verified.code, 0, verified.stdout + verified.stderr);
    assert.deepEqual(person.troubles, []);
  });
});

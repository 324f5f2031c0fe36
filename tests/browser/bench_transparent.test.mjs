// A transparent gauge of three sections rebuilt on a tablet with every button pressed twice in quick
// succession, as gloves do, and its sheet on paper.

import assert from 'node:assert/strict';
import path from 'node:path';
import { before, describe } from 'node:test';

import { TRANSPARENT, onBench, transparent } from './bench_world.mjs';
import { command, textOf } from './harness.mjs';

/** Two presses so close that the page cannot have changed between them. */
async function twice(person, name) {
  const button = person.page.getByRole('button', { name, exact: typeof name === 'string' }).first();
  await Promise.all([person.page.waitForEvent('load'), button.dblclick()]);
}

describe('a transparent gauge of three sections, every button pressed twice', { concurrency: 1, timeout: 900_000 }, () => {
  let sheet;
  const bench = onBench('transparent', () => sheet.person);
  const { step } = bench;

  before(() => {
    sheet = transparent(bench.people.technician, { presses: twice });
  });

  step('has its plan, limits, cautions and fields on paper, in A4 and Letter', async () => {
    const { person } = sheet;
    await sheet.open();
    for (const size of ['A4', 'Letter']) {
      const link = person.page.getByRole('link', { name: size, exact: true });
      const file = await person.download(link, bench.folder);
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
        'SW-K-320T-NEW (until ',
        'Name, date and time',
      ]) {
        assert.ok(text.toLowerCase().includes(words.toLowerCase()), `${size} should say ${words}; it says: ${text}`);
      }
    }
  });

  step('is rebuilt, and each press made one record', async () => {
    const { person } = sheet;
    await sheet.start();
    await sheet.makeSafe();
    await sheet.strip();
    await sheet.renewBolting();
    await sheet.inspect();
    await sheet.takeKits();
    await sheet.assemble();
    await sheet.tighten();
    // Made safe, stripped, bolting, twelve faces, one issue of kits, assembled, three sections tightened.
    assert.equal(await sheet.entries(), 5 + sheet.faces + sheet.sections);
    await sheet.sendToTest();
    await sheet.beginHold();
    await bench.plant.kill();
    await bench.plant.again(6);
    await sheet.open();
    await sheet.endHold();
    await sheet.returnIt();
    await person.goto(`/gauges/${TRANSPARENT}/history`);
    const history = await person.words();
    assert.equal(history.match(/SW-T-\d{4}-\d{4}/g)?.length >= 1, true, history);
    await bench.people.storekeeper.goto('/storeroom/kits/SW-K-320T/lots/SW-K-320T-NEW');
    await bench.people.storekeeper.reads('holds 27');
    await person.goto('/pressure-tests');
    await person.reads('1 test waits for a witness');
    const copy = path.join(bench.folder, 'register.db');
    assert.equal((await command('backup', '--data', bench.plant.folder, copy)).code, 0);
    const verified = await command('verify', '--data', bench.folder);
    assert.equal(verified.code, 0, verified.stdout + verified.stderr);
    assert.deepEqual(person.troubles, []);
  });
});

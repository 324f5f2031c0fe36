// The main job, done by the five people who do it, each in a browser window of their own: an empty
// plant, its list brought in, one gauge rebuilt, tested and certified, and what that changed.
// Single rules and refusals are tested without a browser, in the files of the parts.

import assert from 'node:assert/strict';
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { PASSWORD, Person, Plant, command, openBrowser, textOf } from './harness.mjs';

const TAG = 'LG-1107A';
const KIT = 'SW-K-250';
const LOT = 'L-2291';

// A plant's list as it comes out of a drawer: headings of their own, units in the headings, one tag
// twice, one torque that is no torque.
const LIST = `Tag No.;Plant area;Vessel;Service;Class;Type;Sections;Glass length (mm);Bolts per rail;Bolt size;MAWP (psig);Design temp (degF);Torqe (ft-lb);Our kit number;Kits;Installed;Isolable
LG-1107A;Boiler House;BH-D-101;steam drum;saturated steam;reflex;2;250;6;1/2-13;1000;100;32;${KIT};2;2022-01-31;yes
LG-1107B;Boiler House;BH-D-101;steam drum;saturated steam;reflex;2;250;6;1/2-13;1000;100;32;${KIT};2;2024-05-02;yes
LG-2201;Tank Row;TR-T-201;brine;cold water;transparent;1;320;8;5/8-11;500;100;40;;;2023-09-15;yes
LG-2202;Tank Row;TR-T-202;brine;cold water;transparent;1;320;8;5/8-11;500;100;banana;;;2023-09-15;yes
LG-1107A;Boiler House;BH-D-101;steam drum;saturated steam;reflex;2;250;6;1/2-13;1000;100;32;;;2022-01-31;yes
`;

/** A day so many days from now, as people type it. */
const day = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

describe('the main job', { concurrency: 1, timeout: 600_000 }, () => {
  let plant;
  let browser;
  let folder;
  const people = {};
  let failed = false;

  /** One step; when one fails, those after it have nothing to stand on. */
  const step = (name, does) =>
    it(name, async (t) => {
      assert.ok(!failed, 'an earlier step failed');
      try {
        await does(t);
      } catch (error) {
        failed = true;
        for (const [who, person] of Object.entries(people)) await person.picture(`${name} ${who}`);
        throw error;
      }
    });

  before(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    plant = await Plant.start();
    browser = await openBrowser();
  });

  after(async () => {
    await browser?.close();
    await plant?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  step('the storekeeper writes down a kit and receives a lot of it', async () => {
    const { storekeeper } = people;
    await storekeeper.goto('/storeroom');
    await storekeeper.follow('Add the first kit');
    await storekeeper.fill({
      'Kit number': KIT,
      'What it is for': 'reflex 250 mm, steam',
      Type: 'reflex',
      'Glass length, mm': '250',
      Contents: 'glass\nseal gasket\ncushion gasket',
      'Lead time, days': '60',
    });
    await storekeeper.press('Add the kit');
    await storekeeper.follow('Receive a lot');
    await storekeeper.fill({ 'Lot number': LOT, 'How many came': '10', 'Came on': day(-20) });
    await storekeeper.press('Receive the lot');
    await storekeeper.goto(`/storeroom/kits/${KIT}`);
    await storekeeper.reads(/10 on the shelf may be used/);
  });

  const takeIn = async (number, kind, unit, low, high, more = {}) => {
    const { engineer } = people;
    await engineer.goto('/instruments/new');
    await engineer.fill({
      'Instrument number': number,
      Kind: kind,
      'Unit it reads in': unit,
      'Range from': low,
      to: high,
      ...more,
    });
    await engineer.press('Take it in');
    await engineer.goto(`/instruments/${number}/calibrate`);
    await engineer.fill({
      'Calibrated on': day(-60),
      'Last day it covers': day(305),
      'Certificate reference': `cal ${number}`,
      Found: 'within tolerance',
    });
    await engineer.press('Record the calibration');
    await engineer.goto(`/instruments/${number}`);
    await engineer.reads('may be used today');
  };

  step('the engineer takes in a wrench and a test gauge with their calibrations', async () => {
    await takeIn('TW-07', 'torque wrench', 'ft·lbf', '10', '80');
    await takeIn('PG-03', 'pressure gauge', 'psi', '0', '3000', { 'Smallest step it reads': '10' });
  });

  step('the engineer brings in the plant’s list, and what is wrong in it stays out', async () => {
    const { engineer } = people;
    const file = path.join(folder, 'gauges.csv');
    await writeFile(file, LIST);
    await engineer.goto('/gauges');
    await engineer.follow('Bring in the plant’s list');
    await engineer.page.getByLabel('The list').setInputFiles(file);
    await engineer.press('Read the list');
    await engineer.reads('17 of 17 columns were recognised');
    await engineer.press('See every line');
    await engineer.reads(/3 lines can be taken in, 2 lines cannot/);
    await engineer.reads('banana');
    await engineer.press(/^Take the 3 good lines/);
    await engineer.reads('3 gauges taken into the register');
    const link = engineer.page.getByRole('link', { name: 'Take the refused lines' });
    const refused = await engineer.download(link, folder);
    assert.match(await readText(refused), /LG-2202[^\n]*banana/);
    await engineer.goto('/gauges');
    await engineer.reads('3 gauges in the register');
  });

  step('the engineer opens the gauge and plans its rebuild', async () => {
    const { engineer } = people;
    await engineer.goto('/gauges?q=1107A');
    await engineer.follow(TAG);
    await engineer.reads('1000 psi');
    await engineer.follow('Plan a rebuild');
    await engineer.fill({ 'Planned for': day(0), 'What the bench should know': 'Tag bolt is long.' });
    await engineer.press('Plan it');
  });

  step('the storekeeper issues two kits to the rebuild, and the stock goes down', async () => {
    const { storekeeper } = people;
    await storekeeper.goto(`/bench/${TAG}/kits`);
    await storekeeper.fill({ 'How many': '2' });
    await storekeeper.press('Issue them to this rebuild');
    await storekeeper.goto(`/storeroom/kits/${KIT}`);
    await storekeeper.reads(/8 on the shelf may be used/);
    await storekeeper.goto(`/storeroom/kits/${KIT}/lots/${LOT}`);
    await storekeeper.reads('holds 8');
    await storekeeper.reads(TAG);
  });

  step('the technician makes the gauge safe, strips, inspects, assembles and tightens it', async () => {
    const { technician } = people;
    await technician.goto('/bench');
    await technician.follow(TAG);
    await technician.press('Take it to the bench');
    await technician.reads('Make it safe');
    await technician.tick(
      'Locked out and tagged',
      'Drained',
      'Vented',
      'Proved without pressure',
      'Cold enough to touch',
    );
    await technician.tick(/[Ii]solated/);
    await technician.fill({ Permit: 'P-4417', 'Lock or tag': 'L-12' });
    await technician.press('It is made safe');

    await technician.reads(/^Strip/);
    await technician.choose('Section, counted from the top', /every|all/i);
    await technician.choose('Glass', 'etched or thinned');
    await technician.choose('Seal gasket, on the liquid', 'hardened');
    await technician.choose('Cushion gasket, under the cover', 'hardened');
    await technician.choose('Leak path', 'past the seal gasket');
    await technician.tick('Old glass and gaskets are thrown away');
    await technician.press('Stripped');

    await technician.reads(/^Check the bolting/);
    await technician.choose('Section, counted from the top', /every|all/i);
    await technician.choose('The bolting', 'bolts and nuts renewed');
    await technician.press('Record the bolting');

    // Chamber and cover face of both sections, by straightedge and feeler.
    for (let face = 0; face < 4; face += 1) {
      await technician.reads(/^Inspect the/);
      await technician.choose('As seen', /^\s*(sound|clean)/);
      await technician.fill({ 'Thinnest feeler that does not pass': '0.0015' });
      await technician.press('Record this face');
    }

    await technician.reads(/^Assemble/);
    await technician.choose('Section, counted from the top', /every|all/i);
    for (const box of await technician.page.getByRole('checkbox').all()) await box.setChecked(true);
    await technician.choose('Threads lubricated with', 'molybdenum paste');
    await technician.press('Assembled');

    // 32 ft·lbf by 5: six passes on each of the two sections.
    for (const section of [1, 2]) {
      await technician.reads(/^Tighten/);
      await technician.choose('Torque wrench', 'TW-07');
      await technician.press('Begin with the first pass');
      for (const torque of ['5', '10', '15', '20', '25']) {
        await technician.follow(`All nuts at ${torque} ft·lbf`);
      }
      await technician.press(/^All nuts at 32 ft·lbf: section \d is tight$/);
      assert.ok(section);
    }
    await technician.reads('Ready for its pressure test');
    await technician.press('Send it to its pressure test');
    await technician.reads('On test');
  });

  step('the technician proves it at 1.5 times its rating and records the hold', async () => {
    const { technician } = people;
    await technician.goto('/pressure-tests');
    await technician.follow(TAG);
    await technician.reads(`Prove ${TAG} at 1500 psi, held for 5 min`);
    await technician.tick('PG-03', 'Confirmed:', /no leak|none/i);
    await technician.fill({
      Day: day(0),
      'Hold began at': '00:00',
      'Minute of reading 1': '0',
      'Pressure of reading 1': '1510',
      'Temperature of reading 1': '68',
      'Minute of reading 2': '10',
      'Pressure of reading 2': '1510',
      'Temperature of reading 2': '68',
    });
    await technician.press('Record the test');
    await technician.reads(`${TAG} passed its test at 1500 psi`);
    assert.equal(await technician.page.getByRole('button', { name: 'I saw this test' }).count(), 0);
  });

  step('the inspector witnesses the test and issues the certificate', async () => {
    const { inspector } = people;
    await inspector.goto('/pressure-tests');
    await inspector.reads('1 test waits for a witness');
    await inspector.page.locator('.waits').getByRole('link').first().click();
    await inspector.fill({ 'Your password': PASSWORD });
    await inspector.press('I saw this test');
    await inspector.fill({ 'Your password': PASSWORD });
    await inspector.press('Issue the certificate');
    await inspector.reads('Witnessed and certified');
  });

  step('the certificate says what was done, with what, and who answers for it', async () => {
    const { inspector } = people;
    await inspector.page.locator('.done').getByRole('link').click();
    const link = inspector.page.getByRole('link', { name: 'PDF, A4' });
    const text = await textOf(await inspector.download(link, folder));
    for (const words of [
      'Saltmarsh Works',
      TAG,
      'BH-D-101',
      '1500',
      'PG-03',
      LOT,
      'TW-07',
      people.technician.name,
      people.inspector.name,
    ]) {
      assert.ok(text.includes(words), `the certificate should say ${words}; it says: ${text}`);
    }
  });

  step('the technician returns the gauge to service', async () => {
    const { technician } = people;
    await technician.goto(`/bench/${TAG}`);
    await technician.reads('Passed its test');
    for (const box of await technician.page.getByRole('checkbox').all()) await box.setChecked(true);
    await technician.press(/^Return|Back in service/);
    await technician.reads('returned');
  });

  step('the due date has moved and the history is complete', async () => {
    const { engineer } = people;
    await engineer.goto('/due');
    const text = await engineer.words();
    assert.ok(text.includes(TAG), text);
    await engineer.goto(`/gauges/${TAG}`);
    const page = await engineer.words();
    assert.ok(!page.includes('overdue'), page);
    for (const words of ['rebuild 1', LOT]) assert.ok(page.includes(words), `${words}: ${page}`);
  });

  step('nothing went wrong behind the pages, and the register proves itself', async () => {
    for (const [who, person] of Object.entries(people)) {
      assert.deepEqual(person.troubles, [], `${who} met troubles`);
    }
    const copy = path.join(folder, 'register.db');
    assert.equal((await command('backup', '--data', plant.folder, copy)).code, 0);
    const verified = await command('verify', '--data', folder);
    assert.equal(verified.code, 0, verified.stdout + verified.stderr);
    assert.equal(await plant.halt(), 0, plant.log.join('\n'));
  });
});

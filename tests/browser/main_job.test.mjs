// The main job, done by the five people who do it, each in a browser window of their own: an empty
// plant, its list brought in, one gauge rebuilt, tested and certified, and what that changed.
// Single rules and refusals are tested without a browser, in the files of the parts.

import assert from 'node:assert/strict';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { PASSWORD, Person, Plant, command, openBrowser, textOf } from './harness.mjs';

const TAG = 'LG-1107A';
const KIT = 'SW-K-250';
const LOT = 'L-2291';

/** A day so many days from now, as people type it. */
const day = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

// A plant's list as it comes out of a drawer: headings of their own, units in the headings, one tag
// twice, one torque that is no torque.
const LIST = `Tag No.;Plant area;Vessel;Service;Class;Type;Sections;Glass length (mm);Bolts per rail;Bolt size;MAWP (psig);Design temp (degF);Torqe (ft-lb);Our kit number;Kits;Installed;Isolable
LG-1107A;Boiler House;BH-D-101;steam drum;saturated steam;reflex;2;250;6;1/2-13;1000;100;32;${KIT};2;${day(-1000)};yes
LG-1107B;Boiler House;BH-D-101;steam drum;saturated steam;reflex;2;250;6;1/2-13;1000;100;32;${KIT};2;${day(-200)};yes
LG-2201;Tank Row;TR-T-201;brine;cold water;transparent;1;320;8;5/8-11;500;100;40;;;${day(-400)};yes
LG-2202;Tank Row;TR-T-202;brine;cold water;transparent;1;320;8;5/8-11;500;100;banana;;;${day(-400)};yes
LG-2203;Tank Row;TR-T-203;brine;cold water;transparent;1;320;8;5/8-11;500;100;40;;;${day(-400)};yes
LG-2203;Tank Row;TR-T-204;brine;cold water;transparent;1;320;8;5/8-11;500;100;40;;;${day(-400)};yes
`;

/** The day 18 calendar months after today, at the latest the last of its month. */
function afterTheInterval() {
  const now = new Date();
  const last = new Date(Date.UTC(now.getUTCFullYear(), now.getUTCMonth() + 19, 0)).getUTCDate();
  return new Date(
    Date.UTC(now.getUTCFullYear(), now.getUTCMonth() + 18, Math.min(now.getUTCDate(), last)),
  );
}

/** Minutes the plant's clock is put ahead, so that a hold of ten minutes lies after the rebuild. */
const AHEAD = 15;

/** Day and time of a minute after now, when the hold begins by the plant's clock. */
function holdBegan() {
  const at = new Date(Date.now() + 60_000).toISOString();
  return { Day: at.slice(0, 10), 'Hold began at': at.slice(11, 16) };
}

/** A date as the pages write it. */
const written = (date) =>
  new Intl.DateTimeFormat('en-GB', { day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' })
    .format(date)
    .replace('Sept', 'Sep');

describe('the main job', { concurrency: 1, timeout: 600_000 }, () => {
  let plant;
  let browser;
  let folder;
  const people = {};
  let failed = false;

  /** One step; when one fails, those after it have nothing to stand on. */
  const step = (name, does) =>
    it(name, async (t) => {
      if (failed) return t.skip('an earlier step failed');
      try {
        return await does();
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

  step('the first administrator names the plant at the address that was printed', async () => {
    const one = await Person.at(browser, plant);
    people.administrator = one;
    one.name = 'Edda Quillfeather';
    await one.goto(plant.firstAddress);
    await one.fill({
      'Name of the plant': 'Saltmarsh Works',
      Owner: 'Saltmarsh Company',
      'Time zone': 'UTC',
      'Numbers of tests and certificates begin with': 'SW',
      'Is the change of pressure over a hold judged?': 'no: it is printed; a visible leak or a low reading fails',
      'Paper of certificates': 'A4',
      'On what ground': 'SW-PT-01 issue 1',
      'Your name': one.name,
      'You sign in as': 'edda',
      Password: PASSWORD,
      'The same again': PASSWORD,
    });
    await one.press('Begin the register');
    await one.goto('/people');
    await one.reads('1 person signs in here');
    const late = await Person.at(browser, plant);
    await late.goto(plant.firstAddress);
    assert.equal(await late.page.getByLabel('Name of the plant').count(), 0, 'it works once');
    await late.leave();
  });

  for (const [role, words, name] of [
    ['technician', 'technician', 'Corwin Mossbank'],
    ['storekeeper', 'storekeeper', 'Thessaly Oakhanger'],
    ['inspector', 'inspector', 'Ansgar Fenwater'],
    ['engineer', 'reliability engineer', 'Maud Harrowgale'],
  ]) {
    step(`the administrator adds the ${words}, who sets a password and signs in`, async () => {
      const { administrator } = people;
      await administrator.goto('/people/add');
      await administrator.fill({ Name: name, 'Signs in as': role, Role: words });
      await administrator.press('Add them');
      const once = await administrator.page.locator('#once').innerText();
      const one = await Person.at(browser, plant);
      people[role] = one;
      one.name = name;
      await one.goto(once.trim());
      await one.fill({ Password: PASSWORD, 'The same again': PASSWORD });
      await one.press('Set it and sign in');
      await one.signOut();
      await one.signIn(role);
      const answer = await one.goto('/people');
      assert.equal(answer.status(), 403, 'people are the administrator’s affair');
    });
  }

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
    await engineer.reads('3 lines can be taken in, 3 lines cannot');
    await engineer.reads('“banana” is not a torque');
    await engineer.reads('LG-2203 stands in lines 6, 7');
    await engineer.press(/^Take the 3 good lines/);
    await engineer.reads('3 gauges taken into the register');
    const link = engineer.page.getByRole('link', { name: 'Take the refused lines' });
    const refused = await engineer.download(link, folder);
    assert.match(await readFile(refused, 'utf8'), /LG-2202[^\n]*banana/);
    await engineer.goto('/gauges');
    await engineer.reads('3 gauges in the register');
  });

  step('the engineer sets the rebuild interval, and the gauge is overdue', async () => {
    const { engineer } = people;
    await engineer.goto('/plant/class/saturated%20steam');
    await engineer.fill({ 'Rebuild every, months': '18' });
    await engineer.press('See what moves, then save');
    await engineer.press(/^Save it/);
    await engineer.goto('/due');
    const overdue = await engineer.words();
    assert.ok(overdue.indexOf(TAG) < overdue.indexOf('LG-1107B'), overdue);
    await engineer.reads('1 gauge past due');
  });

  step('the engineer opens the gauge and plans its rebuild', async () => {
    const { engineer } = people;
    await engineer.goto('/gauges?q=LG-1107A');
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
      'Proved free of pressure',
      'Cold enough to touch',
    );
    await technician.tick(/[Ii]solated/);
    await technician.fill({ Permit: 'P-4417', 'Lock or tag': 'L-12' });
    await technician.press('It is made safe');

    await technician.reads(/^Strip/);
    await technician.choose('Section, counted from the top', /every|all/i);
    await technician.choose('Bolting, before it was loosened', 'sound and tight');
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
        await technician.page.getByRole('link', { name: `All nuts at ${torque} ft·lbf`, exact: true }).click();
        // A press so soon after the one before is taken for the same.
        await technician.page.waitForTimeout(650);
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
    // A hold that began before the gauge went on test would prove nothing and is refused.
    await plant.later(AHEAD);
    await technician.goto('/pressure-tests');
    await technician.follow(TAG);
    await technician.reads(`Prove ${TAG} at 1500 psi, held for 5 min`);
    await technician.tick('PG-03', 'Confirmed:', 'no visible leak');
    await technician.fill({
      ...holdBegan(),
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
    await inspector.page.getByRole('link', { name: 'Read and sign the certificate' }).click();
    await inspector.reads('I examined the record of this test');
    await inspector.fill({ 'Your password': PASSWORD });
    await inspector.press('Issue the certificate');
    await inspector.reads(/^Certificate SW-C-\d{4}-0001: LG-1107A held 1510 psi/);
  });

  step('the certificate says what was done, with what, and who answers for it', async () => {
    const { inspector } = people;
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

  step('anybody checks the certificate; a correction replaces it, and the check says so', async () => {
    const { inspector } = people;
    const link = inspector.page.getByRole('link', { name: 'PDF, A4' });
    const paper = await inspector.download(link, folder);
    await inspector.page.getByRole('link', { name: 'check this certificate' }).click();
    await inspector.reads('Genuine: issued as it is, and it stands');
    await inspector.page.setInputFiles('#file', paper);
    await inspector.press('Check the file');
    await inspector.reads('byte for byte, a paper this register handed out');
    await inspector.goto('/pressure-tests/certificates');
    await inspector.page.getByRole('link', { name: /^SW-C-/ }).first().click();
    await inspector.page.getByRole('link', { name: 'Correct it by a new one' }).click();
    await inspector.fill({
      'What was wrong, and why it is replaced': 'The place of the test was left out',
      'Place of the test': 'Test bench, instrument workshop',
    });
    await inspector.press('Show what changes');
    await inspector.reads('test, place');
    await inspector.fill({ 'Your password': PASSWORD });
    await inspector.press('Issue the corrected certificate');
    await inspector.reads(/Supersedes SW-C-\d{4}-0001/);
    await inspector.goto('/check');
    await inspector.page.setInputFiles('#file', paper);
    await inspector.press('Check the file');
    await inspector.reads('Superseded: a corrected certificate replaced it');
  });

  step('the technician returns the gauge to service', async () => {
    const { technician } = people;
    await technician.goto(`/bench/${TAG}`);
    await technician.reads('Passed its test');
    for (const box of await technician.page.getByRole('checkbox').all()) await box.setChecked(true);
    await technician.press(/^Return|Back in service/);
    await technician.reads('returned');
  });

  step('the due date has moved by the interval', async () => {
    const { engineer } = people;
    await engineer.goto(`/gauges/${TAG}`);
    await engineer.reads(`Due ${written(afterTheInterval())}`);
    await engineer.goto('/due');
    const due = await engineer.words();
    assert.ok(due.indexOf(TAG) > due.indexOf('LG-1107B'), due);
  });

  step('the history names every deed and who did it', async () => {
    const { engineer } = people;
    await engineer.goto(`/gauges/${TAG}/history`);
    for (const words of ['Rebuild 1, returned', 'passed', LOT, 'PG-03', 'TW-07']) {
      await engineer.reads(words);
    }
    for (const who of ['technician', 'storekeeper', 'inspector', 'engineer']) {
      await engineer.reads(people[who].name);
    }
    await engineer.goto(`/gauges/${TAG}/rebuilds/1`);
    for (const words of ['etched or thinned', 'hardened', '5, 10, 15, 20, 25, 32', 'P-4417']) {
      await engineer.reads(words);
    }
  });

  step('nobody without the role gets there', async () => {
    for (const [who, address] of [
      ['technician', `/gauges/${TAG}/edit`],
      ['storekeeper', '/gauges/bring-in'],
      ['inspector', '/storeroom/new-kit'],
      ['administrator', `/bench/${TAG}/made-safe`],
    ]) {
      const answer = await people[who].goto(address);
      assert.equal(answer.status(), 403, `${who} at ${address}`);
    }
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

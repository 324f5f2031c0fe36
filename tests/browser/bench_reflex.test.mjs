// A reflex gauge of four sections rebuilt on a tablet, from its lock to its return, with every refusal
// the trade knows on the way. What a refusal rests on is tested without a browser, in tests/bench.

import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { REFLEX, benchPlant, reflex } from './bench_world.mjs';
import { openBrowser } from './harness.mjs';

/** Presses a button whose form is refused, and fails unless the page says why. */
async function refused(sheet, button, words) {
  const { person } = sheet;
  const found = person.page.getByRole('button', { name: button, exact: typeof button === 'string' });
  await found.first().click();
  await person.page.getByText('Not saved: see what is wrong below.').waitFor();
  await person.reads(words);
}

describe('a reflex gauge of four sections on a tablet', { concurrency: 1, timeout: 900_000 }, () => {
  let browser;
  let folder;
  let plant;
  let people;
  let sheet;
  let failed = false;

  const step = (name, does) =>
    it(name, async (t) => {
      if (failed) return t.skip('an earlier step failed');
      try {
        await does();
      } catch (error) {
        failed = true;
        if (people) error.message += `\nseen: ${await sheet.person.picture(`reflex ${name}`).catch(String)}`;
        throw error;
      }
    });

  before(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    browser = await openBrowser();
    ({ plant, people } = await benchPlant(browser, folder));
    sheet = reflex(people.technician);
  });

  after(async () => {
    await browser?.close();
    await plant?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  step('it is made safe, and nothing is loosened before every condition is confirmed', async () => {
    await sheet.start();
    await refused(sheet, 'It is made safe', 'Cold enough to touch: tick this when it is so; nothing is loosened before');
    await sheet.makeSafe();
  });

  step('it is stripped, and old glass and gaskets are thrown away', async () => {
    await sheet.choose('Section, counted from the top', /every|all/i);
    await refused(sheet, 'Stripped', 'thrown away');
    await sheet.strip();
  });

  step('its bolting is renewed', () => sheet.renewBolting());

  step('a face out of flat is refused for assembly until it is skimmed, and its wall is measured', async () => {
    const { person } = sheet;
    await person.reads(/^Inspect the chamber/i);
    const heights = {
      'Heights, left rail': '0 0.001 0.004 0.001 0',
      'Heights, right rail': '0 0.001 0.004 0.001 0',
      'Unit of the heights': 'in',
      'Between stations, mm': '60',
      'Between the rails, mm': '70',
      'Read with': 'DI-02',
    };
    await sheet.choose('As seen', /^\s*(sound|clean)/);
    await person.fill(heights);
    // Worked out first, nothing is recorded.
    await person.page.getByRole('button', { name: 'Work the flatness out first' }).click();
    await person.page.getByText('Not saved: this only worked it out.').waitFor();
    await person.reads('Not recorded yet');
    await sheet.press('Record this face');
    await person.reads('The chamber recess of section 1 is 0.004 in out of flat, more than the limit of 0.002 in.');
    await person.reads(/^Inspect the chamber/i);

    // Skimmed too deep: the wall that is left is below the plant's limit.
    await sheet.choose('As seen', /skimmed/);
    await person.fill({ 'Thinnest feeler that does not pass': '0.0015' });
    await person.fill({ 'Wall, at its thinnest': '0.090', 'Measured with': 'CA-03' });
    await sheet.press('Record this face');
    await person.reads('has 0.090 in of wall left, less than the limit of 0.100 in: no skim brings it back, renew the part');
    await person.reads(/^Inspect the chamber/i);

    // The chamber is renewed, and that face is sound.
    await sheet.choose('As seen', /renewed|new/);
    await person.fill({ 'Thinnest feeler that does not pass': '0.0015' });
    await sheet.press('Record this face');
    await sheet.inspect(1);
  });

  step('an expired lot cannot be taken, the proposed one can', async () => {
    const { person } = sheet;
    await sheet.open('/kits');
    const expired = person.page.locator('label', { hasText: 'SW-K-250R-OLD' });
    assert.match(await expired.innerText(), /not to be used any more: its last day was/);
    assert.ok(await expired.locator('input').isDisabled(), 'an expired lot cannot be chosen');
    // Sent all the same, as an old page would, it is refused with the reason.
    await expired.locator('input').evaluate((input) => {
      input.disabled = false;
      input.checked = true;
    });
    await person.fill({ 'How many': '4' });
    await refused(sheet, 'Issue them to this rebuild', /not to be used any more|expired|last day/);
    await sheet.takeKits();
  });

  step('it is assembled', () => sheet.assemble());

  step('a wrench out of calibration is refused, and the sections are tightened from the middle', async () => {
    const { person } = sheet;
    const out = person.page.locator('label', { hasText: 'TW-08' });
    assert.match(await out.innerText(), /calibration of TW-08 ran out/);
    assert.ok(await out.locator('input').isDisabled(), 'it cannot be chosen');
    await sheet.choose('Torque wrench', 'TW-07');
    await person.press('Begin with the first pass');
    for (const torque of sheet.torques.slice(0, -1)) await sheet.follow(`All nuts at ${torque} ft·lbf`);
    await person.page.locator('form.big input[name=wrench]').first().evaluate((input) => {
      input.value = 'TW-08';
    });
    await refused(sheet, /^All nuts at .* is tight$/, /calibration of TW-08 ran out/);
    await sheet.open();
    await sheet.tighten();
  });

  step('a hold that was too short proves nothing', async () => {
    await sheet.sendToTest();
    await sheet.beginHold();
    const { person } = sheet;
    const form = person.page.locator('#ending');
    await person.fill({ 'Pressure now': '1510', 'Temperature now': '68' }, form);
    await form.locator('label', { hasText: 'no visible leak' }).first().click();
    // Readings are told apart by the second.
    await person.page.waitForTimeout(1200);
    await refused(sheet, 'End the hold and record the test', 'The hold lasted 0 min and has to last at least 5 min');
  });

  step('a leak fails the test and leads back to a named step', async () => {
    const { person } = sheet;
    await sheet.open();
    const form = person.page.locator('#ending');
    await person.fill({ 'Pressure now': '1490', 'Temperature now': '68' }, form);
    await form.locator('label').filter({ hasText: /leak/i }).filter({ hasNotText: /no visible/ }).first().click();
    await person.fill({ 'Where it leaked; anything else': 'weep at nut 4 of section 2' }, form);
    await sheet.press('End the hold and record the test');
    await sheet.open();
    await person.reads('back to the bench');
    await person.follow(/back to the bench/i).catch(() => sheet.open('/back'));
    await sheet.open('/back');
    await sheet.choose(/done again/, /tighten/i);
    await sheet.chooseEach([[/section/i, /2/]]);
    const reason = person.page.getByLabel(/^Why/).first();
    await reason.fill('weep at nut 4 of section 2');
    await sheet.press(/back to the bench/i);
    await person.reads(/^Tighten/);
  });

  step('tightened again and held long enough it is proved, through a restart of the server', async () => {
    const { person } = sheet;
    await sheet.choose('Torque wrench', 'TW-07');
    await person.press('Begin with the first pass');
    for (const torque of sheet.torques.slice(0, -1)) await sheet.follow(`All nuts at ${torque} ft·lbf`);
    await sheet.press(/^All nuts at .* is tight$/);
    await sheet.sendToTest();
    await sheet.beginHold();
    await plant.kill();
    await plant.again(6);
    await sheet.open();
    await person.reads('held long enough, look at every joint');
    await sheet.endHold();
    await sheet.open();
    await person.reads('Passed its test');
  });

  step('it is returned to service, and its record has all of it', async () => {
    await sheet.returnIt();
    const { person } = sheet;
    await person.goto(`/gauges/${REFLEX}/rebuilds/1`);
    for (const words of [
      'P-4417',
      'etched or thinned',
      'bolts and nuts renewed',
      'SW-K-250R-NEW',
      'molybdenum paste',
      '5, 10, 15, 20, 25, 32',
      'TW-07',
      'weep at nut 4 of section 2',
      'failed',
      'passed',
      'Corwin Mossbank',
    ]) {
      await person.reads(words);
    }
    assert.deepEqual(person.troubles, []);
  });
});

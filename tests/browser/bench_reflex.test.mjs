// A reflex gauge of four sections rebuilt on a tablet, from its lock to its return, with every refusal
// the trade knows on the way. What a refusal rests on is tested without a browser, in tests/bench.

import assert from 'node:assert/strict';
import { before, describe } from 'node:test';

import { PHONE, REFLEX, TABLET, onBench, reflex } from './bench_world.mjs';

/** Presses a button whose form is refused, and fails unless the page says why. */
async function refused(sheet, button, words) {
  const { person } = sheet;
  const found = person.page.getByRole('button', { name: button, exact: typeof button === 'string' });
  await found.first().click();
  await person.page.getByText('Not saved: see what is wrong below.').waitFor();
  await person.reads(words);
}

/** From where to where the one button of a pass stands on a screen of this size, from the top of the page. */
async function buttonOfPass({ page }, size) {
  await page.setViewportSize(size);
  const button = page.locator('[data-press] :is(a.button, button)');
  const place = await button.evaluate((one) => {
    const { top, bottom } = one.getBoundingClientRect();
    return { top: Math.round(top + scrollY), bottom: Math.round(bottom + scrollY) };
  });
  await page.setViewportSize(TABLET.viewport);
  return place;
}

describe('a reflex gauge of four sections on a tablet', { concurrency: 1, timeout: 900_000 }, () => {
  let sheet;
  const bench = onBench('reflex', () => sheet.person);
  const { step } = bench;

  before(() => {
    sheet = reflex(bench.people.technician);
  });

  step('it is made safe, and nothing is loosened before every condition is confirmed', async () => {
    await sheet.start();
    await refused(sheet, 'It is made safe', 'Cold enough to touch: tick this when it is so; nothing is loosened before that');
    // What was ticked since then is not marked any more, what is still open is.
    const { page } = sheet.person;
    await page.locator('#cold').check();
    await page.locator('#cold-wrong').waitFor({ state: 'hidden' });
    assert.ok(await page.locator('#drained-wrong').isVisible(), 'it is still to be ticked');
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
    await person.page.getByText('Heights along both rails', { exact: true }).click();
    await person.fill(heights);
    // Worked out first, nothing is recorded.
    await person.page.getByRole('button', { name: 'Work the flatness out first' }).click();
    await person.page.getByText('Not saved: this only worked it out.').waitFor();
    await person.reads('Not recorded yet');
    await sheet.press('Record this face');
    await person.reads('The chamber recess of section 1 is 0.004 in out of flat, more than the limit of 0.002 in.');
    await person.reads('Skim or renew, then measure again: chamber recess of section 1');

    // Skimmed too deep: the wall that is left is below the plant's limit.
    await sheet.choose('As seen', /skimmed/);
    await person.fill({ 'Thinnest feeler that does not pass': '0.0015' });
    await person.fill({ 'Wall, at its thinnest': '0.090', 'Measured with': 'CA-03' });
    await sheet.press('Record this face');
    await person.reads('has 0.090 in of wall left, less than the limit of 0.100 in: no skim brings it back, renew the part');
    await person.reads('Renew the part: chamber recess of section 1');

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

  step('every other page of the sheet can be worked with gloves', async () => {
    for (const page of ['/hand-over', '/photo', '/remark', '/enter', '/kits', '/bolting', '/face', '/abandon']) await sheet.look(page);
    await sheet.open();
  });

  step('it is assembled', () => sheet.assemble());

  step('a wrench out of calibration is refused, and the sections are tightened from the middle', async () => {
    const { person } = sheet;
    const out = person.page.locator('label', { hasText: 'TW-08' });
    assert.match(await out.innerText(), /calibration of TW-08 ran out/);
    assert.ok(await out.locator('input').isDisabled(), 'it cannot be chosen');
    await sheet.choose('Torque wrench', 'TW-07');
    await person.press('Begin with the first pass');
    await sheet.turn(sheet.torques[0]);
    // A wrench that is refused in the middle of a section: here its next pass is answered as for one that is.
    const third = (url) => url.pathname.endsWith('/tightened') && url.searchParams.get('pass') === '3';
    await person.page.route(third, async (route) => {
      const to = new URL(route.request().url());
      to.searchParams.set('wrench', 'TW-08');
      await route.fulfill({ response: await route.fetch({ url: to.href }) });
    });
    await person.page.getByRole('link', { name: 'All nuts at 10 ft·lbf', exact: true }).click();
    await person.page.getByText('This wrench may not be used any more: choose another one below.').waitFor();
    await person.reads(/begin with the first pass with another wrench/);
    await person.page.unroute(third);
    await person.follow('Go on at pass 3 of 6 with TW-07');
    await person.reads('Tighten section 2, pass 3 of 6');
    // A reload and a closed page go on where they were; a step back and forth does too.
    await person.page.reload();
    await person.reads('Tighten section 2, pass 3 of 6');
    await person.page.close();
    person.page = await person.context.newPage();
    await sheet.open();
    await person.follow('Go on at pass 3 of 6 with TW-07');
    await person.reads('Tighten section 2, pass 3 of 6');
    await person.page.getByRole('link', { name: 'One step back', exact: true }).click();
    await person.page.getByRole('heading', { name: 'Tighten section 2, pass 2 of 6' }).waitFor();
    // Nut by nut: twelve nuts, and the last one ends the pass.
    await person.page.getByRole('link', { name: 'Nut by nut', exact: true }).click();
    for (let nut = 1; nut <= 12; nut += 1) {
      await person.page.waitForTimeout(650);
      await person.page.getByRole('link', { name: `Nut ${nut} at 10 ft·lbf`, exact: true }).click();
    }
    await person.page.getByRole('heading', { name: 'Tighten section 2, pass 3 of 6' }).waitFor();
    await person.page.getByRole('link', { name: 'All nuts of a pass at once', exact: true }).click();
    await person.page.waitForTimeout(650);
    // The one button stands within the first screen, and the last pass does not move it from under the finger.
    const screens = [PHONE.viewport, TABLET.viewport];
    const before = [];
    for (const size of screens) before.push(await buttonOfPass(person, size));
    for (const torque of sheet.torques.slice(2, -1)) await sheet.turn(torque);
    for (const [i, size] of screens.entries()) {
      const last = await buttonOfPass(person, size);
      assert.equal(last.top, before[i].top, `${size.width} px wide`);
      assert.ok(last.bottom <= size.height, `${size.width} px wide: it ends at ${last.bottom}`);
    }
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
    await sheet.look('/back');
    await sheet.open();
    await person.reads('back to the bench');
    await person.follow(/back to the bench/i).catch(() => sheet.open('/back'));
    await sheet.open('/back');
    await sheet.choose(/done again/, /tighten/i);
    await sheet.chooseEach([[/section/i, /2/]]);
    const reason = person.page.getByLabel(/^Why/).first();
    await reason.fill('weep at nut 4 of section 2');
    await sheet.press(/back to the bench/i);
    await person.reads('Tighten section 2 of 4 again');
    await person.reads('Sent back from its test: weep at nut 4 of section 2');
  });

  step('tightened again and held long enough it is proved, through a restart of the server', async () => {
    const { person } = sheet;
    await sheet.choose('Torque wrench', 'TW-07');
    // Its nuts stand at the torque: no pass below it is made.
    await person.press('Begin the round');
    await person.reads('Tighten section 2 again, once round');
    await sheet.press(/^All nuts at 32 ft·lbf.* is tight$/);
    await sheet.sendToTest();
    await sheet.beginHold();
    await bench.plant.kill();
    await bench.plant.again(6);
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
      /Finished, as pressed 5 ft·lbf: \d+ \w+ \d{4}, \d\d:\d\d 10 ft·lbf: \d\d:\d\d/,
      'TW-07',
      'weep at nut 4 of section 2',
      'failed',
      'passed',
      'Corwin Mossbank',
    ]) {
      await person.reads(words);
    }
    await person.goto(`/gauges/${REFLEX}/re-torque`);
    await sheet.pictures('re-torque');
    await person.goto(`/gauges/${REFLEX}/rebuilds/1`);
    await sheet.pictures('record');
    assert.deepEqual(person.troubles, []);
  });
});

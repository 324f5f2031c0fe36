// The main job by keys alone: nothing is pressed with a mouse, and nothing is typed where the keys did
// not lead. At every stop what has the focus is seen, whole, with a ring around it (WCAG 2.2, 2.1.1,
// 2.4.7, 2.4.11). The rules of the work itself are tested elsewhere.

import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { REFLEX, benchPlant, day } from './bench_world.mjs';
import { PASSWORD, Person, openBrowser } from './harness.mjs';

/** What is wrong with how the focus shows, or nothing; runs in the page. */
function unseen() {
  const one = document.activeElement;
  if (!one || one === document.body) return null;
  const target = one.matches('.tiles input') ? one.closest('label') : one;
  const box = target.getBoundingClientRect();
  const name = `${one.tagName} ${one.id || one.name || one.textContent.trim().slice(0, 40)}`;
  const style = getComputedStyle(target);
  const main = one.id === 'main';
  if (!main && (style.outlineStyle === 'none' || parseFloat(style.outlineWidth) < 2)) return `no ring: ${name}`;
  if (box.width < 2 || box.height < 2) return `too small to see: ${name}`;
  if (main) return null;
  if (box.bottom <= 0 || box.top >= innerHeight || box.right <= 0 || box.left >= innerWidth) return `not in the window: ${name}`;
  const light = (color) => {
    const [r, g, b] = color.match(/[\d.]+/g).map((v) => Number(v) / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  // WCAG 2.2, 1.4.11: three to one against what lies around it.
  let around = target.parentElement;
  while (around && /rgba\(0, 0, 0, 0\)|transparent/.test(getComputedStyle(around).backgroundColor)) around = around.parentElement;
  const [a, b] = [light(style.outlineColor), light(getComputedStyle(around ?? document.documentElement).backgroundColor)].sort((x, y) => y - x);
  if ((a + 0.05) / (b + 0.05) < 3) return `a ring nobody sees: ${name}`;
  // Nothing that stays in place may cover it.
  // A link over two lines is looked at where its first line is.
  const first = target.getClientRects()[0] ?? box;
  const x = Math.min(Math.max(first.left + first.width / 2, 1), innerWidth - 1);
  const y = Math.min(Math.max(first.top + Math.min(first.height, 20) / 2, 1), innerHeight - 1);
  const top = document.elementFromPoint(x, y);
  if (top && !target.contains(top) && !top.contains(target) && !top.closest('label')?.contains(target)) return `covered: ${name} by ${top.tagName}.${top.className}`;
  return null;
}

/** Somebody who has keys and no mouse. */
class Keys {
  constructor(person) {
    this.person = person;
    this.page = person.page;
  }

  async seen() {
    const wrong = await this.page.evaluate(unseen);
    assert.equal(wrong, null, this.page.url());
  }

  /** Goes with Tab until the focus is on this; looks at every stop on the way. */
  async to(locator) {
    const target = locator.first();
    await target.waitFor({ timeout: 5_000 });
    for (let stops = 0; stops < 400; stops += 1) {
      if (await target.evaluate((one) => one === document.activeElement)) return;
      // A choice is one stop; the arrows lead on inside it.
      const same = await target.evaluate((one) => {
        const at = document.activeElement;
        return one.type === 'radio' && at.type === 'radio' && at.name === one.name && at.form === one.form;
      });
      await this.page.keyboard.press(same ? 'ArrowDown' : 'Tab');
      await this.seen();
    }
    throw new Error(`no key leads to ${locator} on ${this.page.url()}`);
  }

  async type(label, words, within = this.page) {
    await this.to(within.getByLabel(label, { exact: true }));
    await this.page.keyboard.press('Control+A');
    await this.page.keyboard.type(words);
  }

  async leads(locator) {
    await this.to(locator);
    await Promise.all([this.page.waitForEvent('load'), this.page.keyboard.press('Enter')]);
  }

  press(name) {
    return this.leads(this.page.locator('main').getByRole('button', { name, exact: typeof name === 'string' }));
  }

  follow(name) {
    return this.leads(this.page.locator('main').getByRole('link', { name, exact: typeof name === 'string' }));
  }

  /** Takes a tile of each choice, the one that is worded so or else the first. */
  async choose(legend, words) {
    const radio = this.page.getByRole('group', { name: legend }).first().getByRole('radio', words ? { name: words } : {});
    await this.to(radio);
    if (!(await radio.first().isChecked())) await this.page.keyboard.press('Space');
  }

  async tickAll() {
    for (const box of await this.page.locator('main form.big').first().getByRole('checkbox').all()) {
      if (await box.isChecked()) continue;
      await this.to(box);
      await this.page.keyboard.press('Space');
    }
  }
}

describe('the main job by keys alone', { concurrency: 1, timeout: 600_000 }, () => {
  let folder;
  let browser;
  let plant;
  let people;
  let hands;

  before(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    browser = await openBrowser();
    ({ plant, people } = await benchPlant(browser, folder));
    hands = new Keys(await Person.at(browser, plant, { viewport: { width: 1280, height: 800 } }));
  });

  after(async () => {
    assert.deepEqual(hands?.person.troubles ?? [], []);
    await browser?.close();
    await plant?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  it('a refused sign-in brings the focus to what is wrong; the right one signs in', async () => {
    await hands.person.goto('/people/sign-in');
    await hands.type('Name you sign in with', 'technician');
    await hands.type('Password', 'wrong');
    await hands.press('Sign in');
    assert.ok(await hands.page.evaluate(() => document.activeElement.matches('.summary')), 'the summary has the focus');
    await hands.seen();
    await hands.type('Password', PASSWORD);
    await hands.press('Sign in');
  });

  it('the first stop leads past the menu to the content', async () => {
    await hands.page.keyboard.press('Tab');
    await hands.seen();
    assert.equal(await hands.page.evaluate(() => document.activeElement.className), 'skip');
    await hands.page.keyboard.press('Enter');
    await hands.page.keyboard.press('Tab');
    await hands.seen();
    assert.ok(await hands.page.evaluate(() => document.activeElement.closest('main') !== null));
  });

  it('the technician finds the gauge, takes it to the bench and makes it safe', async () => {
    await hands.person.goto('/bench');
    await hands.follow(REFLEX);
    await hands.press('Take it to the bench');
    // Refused first: each line of the summary leads to its field.
    await hands.to(hands.page.getByRole('button', { name: 'It is made safe' }));
    await hands.page.keyboard.press('Enter');
    await hands.page.waitForFunction(() => document.activeElement.matches('.summary'));
    const line = hands.page.locator('.summary a').first();
    const field = (await line.getAttribute('href')).slice(1);
    await hands.to(line);
    await hands.page.keyboard.press('Enter');
    await hands.page.waitForFunction(
      (id) => {
        const box = document.getElementById(id).getBoundingClientRect();
        // Its label is seen with it.
        return document.activeElement.id === id && box.top >= 24 && box.top < innerHeight;
      },
      field,
      { timeout: 5_000 },
    );
    await hands.tickAll();
    await hands.type('Permit', 'P-4417');
    await hands.type('Lock or tag', 'L-12');
    await hands.press('It is made safe');
    await hands.person.reads(/^Strip/);
  });

  it('strips it, renews the bolting, reads its faces, takes kits', async () => {
    await hands.choose('Section, counted from the top', /every|all/i);
    await hands.choose('Bolting, before it was loosened', /^sound/);
    await hands.choose('Glass', 'etched or thinned');
    await hands.choose(/^Seal gasket, on the liquid/, 'hardened');
    await hands.choose(/^Cushion gasket, under the cover/, 'hardened');
    await hands.choose('Leak path', 'past the seal gasket');
    await hands.choose(/^Cause of the work/);
    await hands.tickAll();
    await hands.press('Stripped');
    await hands.person.reads(/^Check the bolting/);
    await hands.choose('Section, counted from the top', /every|all/i);
    await hands.choose('The bolting', 'bolts and nuts renewed');
    await hands.press('Record the bolting');
    for (let face = 0; face < 8; face += 1) {
      await hands.person.reads(/^Inspect the/);
      await hands.choose('As seen', /^(sound|clean)/);
      await hands.type('Thinnest feeler that does not pass', '0.0015');
      await hands.press('Record this face');
    }
    await hands.person.goto(`/bench/${REFLEX}/kits`);
    await hands.type('How many', '4');
    await hands.press('Issue them to this rebuild');
    await hands.person.reads(/^Assemble/);
  });

  it('assembles it and tightens every section pass by pass', async () => {
    await hands.choose('Section, counted from the top', /every|all/i);
    await hands.tickAll();
    await hands.choose('Threads lubricated with', 'molybdenum paste');
    await hands.press('Assembled');
    for (let section = 0; section < 4; section += 1) {
      await hands.choose('Torque wrench', /TW-07/);
      await hands.press('Begin with the first pass');
      for (const torque of ['5', '10', '15', '20', '25']) {
        await hands.to(hands.page.getByRole('link', { name: `All nuts at ${torque} ft·lbf`, exact: true }));
        await hands.page.keyboard.press('Enter');
        // A press so soon after the one before is taken for the same.
        await hands.page.waitForTimeout(650);
      }
      await hands.press(/^All nuts at 32 .*: section \d is tight$/);
    }
    await hands.person.reads('Ready for its pressure test');
    await hands.press('Send it to its pressure test');
    await hands.person.reads('On test');
  });

  it('records the test, and returns the gauge', async () => {
    // A hold that began before the gauge went on test would prove nothing and is refused.
    await plant.later(15);
    await hands.person.goto('/pressure-tests');
    await hands.follow(REFLEX);
    await hands.person.reads(/^Prove/);
    await hands.choose(/^(Test gauge|Pressure gauge)/, /PG-03/);
    const begun = new Date(Date.now() + 60_000).toISOString();
    await hands.type('Day', begun.slice(0, 10));
    await hands.type('Hold began at', begun.slice(11, 16));
    for (const [reading, minute] of [['1', '0'], ['2', '10']]) {
      await hands.type(`Minute of reading ${reading}`, minute);
      await hands.type(`Pressure of reading ${reading}`, '1510');
      await hands.type(`Temperature of reading ${reading}`, '68');
    }
    for (const box of await hands.page.locator('main').getByRole('checkbox', { name: /^Confirmed/ }).all()) {
      await hands.to(box);
      await hands.page.keyboard.press('Space');
    }
    await hands.to(hands.page.getByRole('radio', { name: 'no visible leak' }));
    await hands.page.keyboard.press('Space');
    await hands.press('Record the test');
    await hands.person.reads(`${REFLEX} passed its test at 1500 psi`);
    await hands.person.goto(`/bench/${REFLEX}`);
    await hands.tickAll();
    await hands.press('Return it to service');
    await hands.person.reads(/Rebuild 1 of .*returned on/);
  });

  it('the engineer plans the next rebuild', async () => {
    const engineer = new Keys(people.engineer);
    await engineer.person.goto(`/gauges/${REFLEX}/rebuild`);
    await engineer.type('Planned for', day(30));
    await engineer.press('Plan it');
  });

  it('the inspector signs in, witnesses, signs and checks the certificate', async () => {
    const { administrator } = people;
    await administrator.goto('/people/add');
    await administrator.fill({ Name: 'Perpetua Reedholm', 'Signs in as': 'inspector', Role: 'inspector' });
    await administrator.press('Add them');
    const once = await administrator.page.locator('#once').innerText();
    const inspector = new Keys(await Person.at(browser, plant, { viewport: { width: 1280, height: 800 } }));
    await inspector.person.goto(once.trim());
    await inspector.type('Password', PASSWORD);
    await inspector.type('The same again', PASSWORD);
    await inspector.press('Set it and sign in');
    await inspector.person.goto('/pressure-tests');
    await inspector.leads(inspector.page.locator('.waits').getByRole('link'));
    const saw = inspector.page.locator('form', { has: inspector.page.getByRole('button', { name: 'I saw this test' }) });
    await inspector.type('Your password', PASSWORD, saw);
    await inspector.press('I saw this test');
    await inspector.follow('Read and sign the certificate');
    await inspector.type('Your password', PASSWORD);
    await inspector.press('Issue the certificate');
    await inspector.person.reads(/^Certificate SW-C-\d{4}-0001/);
    await inspector.follow('check this certificate');
    await inspector.person.reads('Genuine: issued as it is, and it stands');
  });
});

// A plant with two gauges to rebuild, and the steps of a bench sheet as a technician takes them on a
// tablet. How a button is pressed is the caller's: once, twice, or over a connection that is cut.

import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, it } from 'node:test';

import { PASSWORD, Person, Plant, openBrowser } from './harness.mjs';

/** A tablet upright, worked with fingers. */
export const TABLET = { viewport: { width: 820, height: 1180 }, hasTouch: true };
/** A phone. */
export const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true };
/** Four sections, steam. */
export const REFLEX = 'LG-1107A';
/** Three sections, glass on both sides. */
export const TRANSPARENT = 'LG-2201';

/** A day so many days from now, as people type it. */
export const day = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

const LIST = `Tag No.;Plant area;Vessel;Service;Class;Type;Sections;Glass length (mm);Bolts per rail;Bolt size;MAWP (psig);Design temp (degF);Torque (ft-lb);Our kit number;Kits;Installed;Isolable
${REFLEX};Boiler House;BH-D-101;steam drum;saturated steam;reflex;4;250;6;1/2-13;1000;100;32;SW-K-250R;4;${day(-1000)};yes
${TRANSPARENT};Tank Row;TR-T-201;brine;saturated steam;transparent;3;320;8;5/8-11;1000;100;40;SW-K-320T;3;${day(-1000)};yes
`;

const INSTRUMENTS = [
  ['TW-07', 'torque wrench', 'ft·lbf', '10', '80', 305],
  ['TW-08', 'torque wrench', 'ft·lbf', '10', '80', -1],
  ['DI-02', 'dial indicator', 'in', '0', '1', 305],
  ['CA-03', 'caliper', 'in', '0', '6', 305],
  ['PG-03', 'pressure gauge', 'psi', '0', '3000', 305],
];

/** Begins the register of an empty plant and adds the people who work at its bench. */
async function begin(browser, plant) {
  const administrator = await Person.at(browser, plant);
  await administrator.goto(plant.firstAddress);
  await administrator.fill({
    'Name of the plant': 'Saltmarsh Works',
    Owner: 'Saltmarsh Company',
    'Time zone': 'UTC',
    'Numbers of tests and certificates begin with': 'SW',
    'Is the change of pressure over a hold judged?': 'no: it is printed; a visible leak or a low reading fails',
    'Paper of certificates': 'A4',
    'On what ground': 'SW-PT-01 issue 1',
    'Your name': 'Edda Saltmarsh',
    'You sign in as': 'edda',
    Password: PASSWORD,
    'The same again': PASSWORD,
  });
  await administrator.press('Begin the register');
  const people = { administrator };
  for (const [role, words, name] of [
    ['technician', 'technician', 'Corwin Mossbank'],
    ['second', 'technician', 'Isolde Fenwater'],
    ['storekeeper', 'storekeeper', 'Thessaly Oakhanger'],
    ['engineer', 'reliability engineer', 'Maud Harrowgale'],
  ]) {
    await administrator.goto('/people/add');
    await administrator.fill({ Name: name, 'Signs in as': role, Role: words });
    await administrator.press('Add them');
    const once = await administrator.page.locator('#once').innerText();
    const one = await Person.at(browser, plant, words === 'technician' ? TABLET : {});
    one.name = name;
    await one.goto(once.trim());
    await one.fill({ Password: PASSWORD, 'The same again': PASSWORD });
    await one.press('Set it and sign in');
    people[role] = one;
  }
  return people;
}

/** A plant whose two gauges are planned for their rebuilds today, with kits and instruments in hand. */
export async function benchPlant(browser, folder) {
  const plant = await Plant.start();
  const people = await begin(browser, plant);
  const { storekeeper, engineer } = people;
  for (const [kit, type, length] of [
    ['SW-K-250R', 'reflex', '250'],
    ['SW-K-320T', 'transparent', '320'],
  ]) {
    await storekeeper.goto('/storeroom/new-kit');
    await storekeeper.fill({
      'Kit number': kit,
      'What it is for': `${type} ${length} mm`,
      Type: type,
      'Glass length, mm': length,
      Contents: 'glass\nseal gasket\ncushion gasket',
      'Lead time, days': '60',
    });
    await storekeeper.press('Add the kit');
    for (const [lot, expires] of [
      [`${kit}-NEW`, day(400)],
      [`${kit}-OLD`, day(-2)],
    ]) {
      await storekeeper.goto(`/storeroom/kits/${kit}/receive`);
      await storekeeper.fill({
        'Lot number': lot,
        'How many came': '30',
        'Came on': day(-700),
        'Last day it may be used': expires,
      });
      await storekeeper.press('Receive the lot');
    }
  }
  for (const [number, kind, unit, low, high, until] of INSTRUMENTS) {
    await engineer.goto('/instruments/new');
    await engineer.fill({ 'Instrument number': number, Kind: kind, 'Range from': low, to: high });
    await engineer.fill({ 'Unit it reads in': unit });
    await engineer.press('Take it in');
    await engineer.goto(`/instruments/${number}/calibrate`);
    await engineer.fill({
      'Calibrated on': day(-60),
      'Last day it covers': day(until),
      'Certificate reference': `cal ${number}`,
      Found: 'within tolerance',
    });
    await engineer.press('Record the calibration');
  }
  const file = path.join(folder, 'gauges.csv');
  await writeFile(file, LIST);
  await engineer.goto('/gauges/bring-in');
  await engineer.page.getByLabel('The list').setInputFiles(file);
  await engineer.press('Read the list');
  await engineer.press('See every line');
  await engineer.press(/^Take the/);
  await engineer.reads('2 gauges taken into the register');
  for (const tag of [REFLEX, TRANSPARENT]) {
    await engineer.goto(`/gauges/${tag}/rebuild`);
    await engineer.fill({ 'Planned for': day(0) });
    await engineer.press('Plan it');
  }
  return { plant, people };
}

/** What the tests of the bench share: a plant and people of their own, and steps of which none is tried
    after one that failed; `person()` is whose page is pictured then. */
export function onBench(name, person) {
  const bench = {};
  let failed = false;
  before(async () => {
    bench.folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    bench.browser = await openBrowser();
    Object.assign(bench, await benchPlant(bench.browser, bench.folder));
  });
  after(async () => {
    await bench.browser?.close();
    await bench.plant?.stop();
    await rm(bench.folder, { recursive: true, force: true });
  });
  bench.step = (words, does) =>
    it(words, async (t) => {
      if (failed) return t.skip('an earlier step failed');
      try {
        await does();
      } catch (error) {
        failed = true;
        const seen = bench.people && (await person(bench.people).picture(`${name} ${words}`).catch(String));
        error.message += `\nseen: ${seen}`;
        throw error;
      }
    });
  return bench;
}

/** One rebuild's sheet in a technician's hands. */
export class Sheet {
  /** `presses(person, button)` presses a button so that what it does is done when it comes back. */
  constructor(person, tag, { kind, sections, kit, torques, presses }) {
    Object.assign(this, { person, tag, kind, sections, kit, torques });
    this.presses = presses ?? ((one, button) => one.press(button));
    this.seen = 0;
  }

  get page() {
    return this.person.page;
  }

  async press(button) {
    await this.reached(String(button));
    await this.pictures(String(button));
    await this.presses(this.person, button);
  }

  /** Fails unless gloves can reach everything that is pressed, 48 px high, and nothing runs out of the page. */
  async reached(step) {
    const wrong = await this.page.evaluate(() => {
      const pressed = '.bench button, .bench a.button, .bench .tiles label, .bench summary, .bench nav a, .bench input:not([type=hidden], [type=radio], [type=checkbox]), .bench select, .bench label.tick';
      const low = [...document.querySelectorAll(pressed)]
        .filter((one) => one.checkVisibility() && !one.closest('.tiles label input'))
        .map((one) => [one.getBoundingClientRect().height, one.tagName, one.className, one.textContent.trim().slice(0, 40)])
        .filter(([height]) => height < 47.5);
      const wide = document.documentElement.scrollWidth - document.documentElement.clientWidth;
      return wide > 0 ? [...low, `${wide} px too wide`] : low;
    });
    if (wrong.length > 0) throw new Error(`${step}: ${JSON.stringify(wrong)}`);
  }

  /** Looks at a page of the sheet that is not on the way. */
  async look(step) {
    await this.open(step);
    await this.reached(step);
    await this.pictures(step);
  }

  /** Pictures of the step as it is filled in, for whoever asked for them; none otherwise. */
  async pictures(step) {
    const into = process.env.GAUGEWRIGHT_STEPS_INTO;
    if (!into) return;
    this.seen += 1;
    const name = `${this.kind}-${String(this.seen).padStart(2, '0')}-${step.replace(/[^a-z0-9]+/gi, '-')}`;
    await mkdir(into, { recursive: true });
    for (const [what, size] of [
      ['820', TABLET.viewport],
      ['390', PHONE.viewport],
    ]) {
      await this.page.setViewportSize(size);
      for (const colorScheme of ['light', 'dark']) {
        await this.page.emulateMedia({ colorScheme });
        const file = path.join(into, `${name}-${what}-${colorScheme}.png`);
        await this.page.screenshot({ path: file, fullPage: true });
      }
    }
    await this.page.emulateMedia({ colorScheme: 'light' });
    await this.page.setViewportSize(TABLET.viewport);
  }

  async open(step = '') {
    await this.person.goto(`/bench/${this.tag}${step}`);
  }

  /** Takes a tile where the form has this choice. */
  async choose(legend, words) {
    const group = this.page.getByRole('group', { name: legend });
    if (await group.count()) await group.first().locator('label', { hasText: words }).first().click();
  }

  async chooseEach(choices) {
    for (const [legend, words] of choices) await this.choose(legend, words);
  }

  async tickAll() {
    for (const box of await this.page.locator('main form.big').first().getByRole('checkbox').all()) {
      await box.setChecked(true);
    }
  }

  async start() {
    await this.open();
    await this.press('Take it to the bench');
    await this.person.reads(/^Make it safe/);
  }

  async makeSafe() {
    await this.tickAll();
    await this.person.fill({ Permit: 'P-4417', 'Lock or tag': 'L-12' });
    await this.press('It is made safe');
    await this.person.reads(/^Strip/);
  }

  async strip() {
    const sound = /^\s*sound/;
    await this.chooseEach([
      ['Section, counted from the top', /every|all/i],
      ['Bolting, before it was loosened', sound],
      [/^Glass( in front)?$/, 'etched or thinned'],
      ['Glass at the back', sound],
      [/^Seal gasket, on the liquid/, 'hardened'],
      [/^Cushion gasket, under the cover/, 'hardened'],
      ['Shield on the wetted side', sound],
      ['Seal gasket at the back', sound],
      ['Cushion gasket at the back', sound],
      ['Shield at the back', sound],
      ['Leak path', 'past the seal gasket'],
    ]);
    const cause = this.page.getByRole('group', { name: /^Cause of the work/ });
    if (await cause.count()) await cause.locator('label').first().click();
    await this.tickAll();
    await this.press('Stripped');
    await this.person.reads(/^Check the bolting/);
  }

  async renewBolting() {
    await this.choose('Section, counted from the top', /every|all/i);
    await this.choose('The bolting', 'bolts and nuts renewed');
    await this.press('Record the bolting');
    await this.person.reads(/^Inspect the/);
  }

  /** How many faces the gauge has: chamber and cover of each section, and of each side. */
  get faces() {
    return this.sections * (this.kind === 'transparent' ? 4 : 2);
  }

  /** Reads the face that comes next with straightedge and feeler. */
  async readFace() {
    await this.choose('As seen', /^\s*(sound|clean)/);
    await this.person.fill({ 'Thinnest feeler that does not pass': '0.0015' });
    await this.press('Record this face');
  }

  async inspect(already = 0) {
    for (let face = already; face < this.faces; face += 1) {
      await this.person.reads(/^Inspect the/);
      await this.readFace();
    }
  }

  async takeKits() {
    await this.open('/kits');
    await this.person.fill({ 'How many': String(this.sections) });
    await this.press('Issue them to this rebuild');
    await this.person.reads(/^Assemble/);
  }

  async assemble() {
    await this.choose('Section, counted from the top', /every|all/i);
    await this.tickAll();
    await this.choose('Threads lubricated with', 'molybdenum paste');
    await this.press('Assembled');
    await this.person.reads(/^Tighten/);
  }

  /** Says that a pass is done: the page itself leads on to the next. */
  async turn(torque) {
    const at = this.torques.indexOf(torque);
    await this.pictures(`pass ${at + 1}`);
    await this.page.getByRole('link', { name: `All nuts at ${torque} ft·lbf`, exact: true }).click();
    await this.page.getByText(`${this.torques[at + 1]} ft·lbf`, { exact: true }).first().waitFor();
    // A press so soon after the one before is taken for the same.
    await this.page.waitForTimeout(650);
  }

  async tighten() {
    for (let section = 0; section < this.sections; section += 1) {
      await this.choose('Torque wrench', 'TW-07');
      await this.person.press('Begin with the first pass');
      for (const torque of this.torques.slice(0, -1)) await this.turn(torque);
      await this.press(/^All nuts at .*: section \d is tight$/);
    }
    await this.person.reads('Ready for its pressure test');
  }

  async sendToTest() {
    await this.press('Send it to its pressure test');
    await this.person.reads('On test');
  }

  async beginHold() {
    await this.choose('Test gauge', 'PG-03');
    await this.choose('Filled with', /^\s*water\s*$/);
    await this.tickAll();
    await this.person.fill({ 'Pressure now': '1510', 'Temperature now': '68' });
    await this.press('The pressure is up: begin the hold');
    await this.person.reads('A reload or a tablet asleep does not stop it');
  }

  async endHold(leak = 'no visible leak') {
    const form = this.page.locator('#ending');
    await this.person.fill({ 'Pressure now': '1510', 'Temperature now': '68' }, form);
    await form.locator('label', { hasText: leak }).first().click();
    await this.press('End the hold and record the test');
  }

  async returnIt() {
    await this.open();
    await this.tickAll();
    await this.press('Return it to service');
    await this.person.reads('returned');
  }

  /** How many entries the sheet shows, those tucked away included. */
  async entries() {
    await this.open();
    return this.page.locator('article.entry').count();
  }
}

/** The two gauges as their nameplates say. */
export const reflex = (person, more = {}) =>
  new Sheet(person, REFLEX, {
    kind: 'reflex',
    sections: 4,
    kit: 'SW-K-250R',
    torques: ['5', '10', '15', '20', '25', '32'],
    ...more,
  });
export const transparent = (person, more = {}) =>
  new Sheet(person, TRANSPARENT, {
    kind: 'transparent',
    sections: 3,
    kit: 'SW-K-320T',
    torques: ['5', '10', '15', '20', '25', '30', '35', '40'],
    ...more,
  });

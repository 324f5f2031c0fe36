// Filling a shutdown window and closing the shortage it shows, by the engineer and the storekeeper of
// the demo plant, each in a browser window of their own. Single rules and refusals are tested without
// a browser, in tests/windows/plan.rs, tests/needs.rs and tests/orders.rs.

import assert from 'node:assert/strict';
import { mkdtemp, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { after, before, describe, it } from 'node:test';

import { Person, Plant, openBrowser, textOf } from './harness.mjs';
import { demoPeople } from './people.mjs';

/** A day so many days from now, as people type it. */
const day = (days) => new Date(Date.now() + days * 86_400_000).toISOString().slice(0, 10);

describe('a shutdown window is filled and its shortage closed', { concurrency: 1, timeout: 300_000 }, () => {
  let plant;
  let browser;
  let folder;
  let engineer;
  let storekeeper;
  let plan;
  let kit;
  let short;

  /** What the table of kits says of one: needed, by others, may be used, coming, short. */
  const figures = async (person, number) => {
    const row = person.page.locator('tr', { has: person.page.locator(`th a:text-is("${number}")`) });
    const cells = await row.first().locator('td').allInnerTexts();
    return cells.map((text) => parseInt(text, 10));
  };

  before(async () => {
    folder = await mkdtemp(path.join(tmpdir(), 'gaugewright-files-'));
    plant = await Plant.start('demo');
    browser = await openBrowser();
    const people = demoPeople(plant);
    const as = async (role) => {
      const one = people.find((person) => person.role === role);
      return (await Person.at(browser, plant)).signIn(one.name, one.password);
    };
    engineer = await as('engineer');
    storekeeper = await as('storekeeper');
  });

  after(async () => {
    for (const person of [engineer, storekeeper]) assert.deepEqual(person?.troubles ?? [], []);
    await browser?.close();
    await plant?.stop();
    await rm(folder, { recursive: true, force: true });
  });

  it('the engineer chooses every gauge that has to be done in it', async () => {
    await engineer.goto('/windows');
    await engineer.page.getByRole('link', { name: 'fill it' }).first().click();
    plan = new URL(engineer.page.url()).pathname;
    await engineer.reads(/have to be done in it/);
    const boxes = engineer.page.getByRole('checkbox', { name: /^Choose / });
    const before = await boxes.count();
    assert.ok(before > 3);
    for (let i = 0; i < 3; i += 1) await boxes.nth(i).check();
    await engineer.press('Choose those ticked');
    assert.equal(await engineer.page.getByRole('checkbox', { name: /^Choose / }).count(), before - 3);
  });

  it('the page says which kits are short', async () => {
    await engineer.reads(/kits are short/);
    const order = engineer.page.getByRole('link', { name: 'order', exact: true }).first();
    const row = engineer.page.locator('tr', { has: order });
    kit = (await row.first().locator('th').innerText()).trim();
    short = (await figures(engineer, kit))[4];
    assert.ok(short > 0);
  });

  it('planning the rebuilds reserves their kits', async () => {
    await engineer.press(/^Plan the rebuilds of/);
    assert.equal(await engineer.page.getByText('not planned').count(), 0);
    await engineer.goto(`/needs/kits/${kit}`);
    await engineer.reads('Reserved by planned rebuilds');
    await engineer.reads('Working: Order quantity');
  });

  it('the storekeeper orders what is short, and the window counts it as coming', async () => {
    await storekeeper.goto(plan);
    const row = storekeeper.page.locator('tr', { has: storekeeper.page.locator(`th a:text-is("${kit}")`) });
    await row.getByRole('link', { name: 'order', exact: true }).click();
    await storekeeper.press('Draft it');
    await storekeeper.fill({
      Supplier: 'Fennel Gauge',
      'Placed on': day(0),
      'Promised for': day(10),
    });
    await storekeeper.press('Await it');
    await storekeeper.reads('is placed');
    await storekeeper.goto(plan);
    const [, , , coming, left] = await figures(storekeeper, kit);
    assert.ok(coming >= short);
    assert.equal(left, 0);
  });

  it('a part comes, then the rest, and the shelf holds them', async () => {
    await storekeeper.goto('/orders');
    const line = storekeeper.page.locator('tr', { hasText: kit }).filter({ hasText: 'Fennel Gauge' }).last();
    const receive = async (lot, many) => {
      await line.getByRole('link', { name: 'receive' }).click();
      await storekeeper.fill({ 'Lot number': lot, 'How many came': String(many) });
      await storekeeper.page.getByLabel('Last day it may be used').fill(day(1500));
      await storekeeper.press('Receive them');
      await storekeeper.reads(`Lot ${lot} holds`);
      await storekeeper.goto('/orders');
    };
    if (short > 1) {
      await receive('NEW-1', 1);
      await receive('NEW-2', short - 1);
    } else {
      await receive('NEW-1', short);
    }
    await storekeeper.goto(plan);
    const [, , , , left] = await figures(storekeeper, kit);
    assert.equal(left, 0);
  });

  it('the lot is counted by what its label says', async () => {
    await storekeeper.goto('/storeroom/count');
    await storekeeper.fill({ 'What the label says': 'NEW-1' });
    await storekeeper.press('Find it');
    await storekeeper.fill({ 'Kits on the shelf': '1' });
    await storekeeper.press('Write the count');
    await storekeeper.reads(/Counted NEW-1: 1|say why it differs/);
  });

  it('the pack names the gauges, the lots and the passes', async () => {
    await engineer.goto(plan);
    const link = engineer.page.getByRole('link', { name: 'Print the pack' });
    const text = await textOf(await engineer.download(link, folder));
    assert.match(text, /Shutdown pack/);
    assert.match(text, /Bench sheet LG-/);
    assert.match(text, /From the storeroom/);
  });
});

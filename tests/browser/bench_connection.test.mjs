// The bench over a bad connection: at every step the connection is cut in the middle and comes back, in
// each of the ways it does; nothing is lost, nothing is doubled, and the person sees what waits.

import assert from 'node:assert/strict';
import path from 'node:path';
import { describe } from 'node:test';

import { REFLEX, onBench, reflex, transparent } from './bench_world.mjs';
import { command } from './harness.mjs';

const WAITS = /No connection: what you entered waits here/;

/** The browser notes each failed attempt in its console: that is what these tests are about. */
const unexpected = (troubles) =>
  troubles.filter((one) => !/net::ERR_|Failed to (load resource|fetch)/.test(one));

/** The ways a connection fails while a button is pressed, and how it comes back. */
const ways = {
  /** The radio is gone; it comes back while the page waits. */
  async radio(person, button) {
    await person.context.setOffline(true);
    await button.click();
    await person.page.getByText(WAITS).waitFor();
    await Promise.all([person.page.waitForEvent('load'), person.context.setOffline(false)]);
  },
  /** The register has done it, but its answer never arrives. */
  async answer(person, button) {
    let lost = 0;
    await person.page.route('**/bench/**', async (route) => {
      if (route.request().method() !== 'POST' || lost > 0) return route.continue();
      lost += 1;
      await route.fetch({ maxRedirects: 0 });
      return route.abort('connectionreset');
    });
    await Promise.all([person.page.waitForEvent('load'), button.click()]);
    await person.page.unroute('**/bench/**');
    assert.equal(lost, 1, 'one answer was lost');
  },
  /** The server is killed and started again. */
  async server(person, button) {
    await person.plant.kill();
    await button.click();
    await person.page.getByText(WAITS).waitFor();
    const loaded = person.page.waitForEvent('load');
    await person.plant.again();
    await loaded;
  },
  /** The page is closed while it waits, and the sheet opened again later. */
  async closed(person, button) {
    const sheet = new URL(person.page.url()).pathname.split('/').slice(0, 3).join('/');
    await person.context.setOffline(true);
    await button.click();
    await person.page.getByText(WAITS).waitFor();
    await person.page.close();
    await person.context.setOffline(false);
    person.page = await person.context.newPage();
    await person.goto(sheet);
    await person.page.getByText(/^Saved/).waitFor();
  },
  /** The page is loaded anew while it waits. */
  async reloaded(person, button) {
    await person.page.route('**/bench/**', (route) =>
      route.request().method() === 'POST' ? route.abort('internetdisconnected') : route.continue(),
    );
    await button.click();
    await person.page.getByText(WAITS).waitFor();
    await person.page.reload();
    await person.page.getByText(/waits here and is sent as soon as the register answers/).waitFor();
    const disabled = await person.page.locator('.bench form[method=post] button:disabled').count();
    assert.ok(disabled > 0, 'what waits is not pressed anew');
    await person.page.unroute('**/bench/**');
    const sheet = new URL(person.page.url()).pathname.split('/').slice(0, 3).join('/');
    await person.goto(sheet);
    await person.page.getByText(/^Saved/).waitFor();
  },
};

/** Presses every button over a connection that fails, each time in the next way. */
function cut() {
  const names = Object.keys(ways);
  let turn = 0;
  return async (person, name) => {
    const button = person.page.getByRole('button', { name, exact: typeof name === 'string' }).first();
    await button.waitFor();
    const way = names[turn % names.length];
    turn += 1;
    try {
      await ways[way](person, button);
    } catch (error) {
      error.message = `${name}, ${way}: ${error.message}`;
      throw error;
    }
  };
}

describe('the bench over a bad connection', { concurrency: 1, timeout: 900_000 }, () => {
  const bench = onBench('connection', (people) => people.technician);
  const { step } = bench;

  step('what was typed and not sent is back after the page was closed', async () => {
    const sheet = reflex(bench.people.technician);
    await sheet.start();
    const { person } = sheet;
    await person.fill({ Permit: 'P-4417' });
    await person.reads('Kept in this browser; not saved yet.');
    await person.page.close();
    person.page = await person.context.newPage();
    await sheet.open();
    await person.reads('What you had typed here is back; it is not saved yet.');
    assert.equal(await person.page.getByLabel('Permit').inputValue(), 'P-4417');
    // It belongs to whoever typed it: a colleague at the same sheet does not see it.
    const second = reflex(bench.people.second);
    await second.open();
    assert.equal(await second.page.getByLabel('Permit').inputValue(), '');
  });

  step('a whole rebuild is recorded once with the connection cut at every press', async () => {
    const sheet = reflex(bench.people.technician, { presses: cut() });
    // Passes go on without the register; links wait for it, and never end on the browser's own page.
    const turn = sheet.turn.bind(sheet);
    sheet.turn = async (torque) => {
      await sheet.person.context.setOffline(true);
      await turn(torque);
      await sheet.person.context.setOffline(false);
    };
    await sheet.open();
    await sheet.makeSafe();
    await sheet.strip();
    await sheet.renewBolting();
    await sheet.inspect();
    await sheet.takeKits();
    await sheet.assemble();
    await sheet.tighten();
    assert.equal(await sheet.entries(), 4 + sheet.faces + sheet.sections);
    await sheet.sendToTest();
    await sheet.beginHold();
    await bench.plant.kill();
    await bench.plant.again(6);
    await sheet.open();
    await sheet.endHold();
    await sheet.returnIt();
    await bench.people.storekeeper.goto('/storeroom/kits/SW-K-250R/lots/SW-K-250R-NEW');
    await bench.people.storekeeper.reads('holds 26');
    await bench.people.engineer.goto('/pressure-tests');
    await bench.people.engineer.reads('1 test waits for a witness');
    await bench.people.engineer.goto(`/gauges/${REFLEX}/rebuilds/1`);
    await bench.people.engineer.reads('returned');
  });

  step('two pages of one browser send what waits once', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    await sheet.start();
    await sheet.tickAll();
    await person.fill({ Permit: 'P-5', 'Lock or tag': 'L-5' });
    await person.context.setOffline(true);
    await person.page.getByRole('button', { name: 'It is made safe' }).click();
    await person.page.getByText(WAITS).waitFor();
    await person.context.setOffline(false);
    const first = person.page;
    const other = await person.context.newPage();
    await other.goto(`/bench/${sheet.tag}`);
    await first.getByText(/^Strip/).first().waitFor();
    // The other page may have sent it itself, and then opens the sheet at the same moment.
    await other.goto(`/bench/${sheet.tag}`).catch(() => other.waitForLoadState());
    await other.getByText(/^Strip/).first().waitFor();
    await other.close();
    assert.equal(await sheet.entries(), 1);
  });

  step('a photograph taken without a connection outlives its page, is sent from any page, and is there once', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    const waiting = () =>
      person.page.evaluate(async () => {
        const db = await new Promise((done) => (indexedDB.open('bench-files').onsuccess = (event) => done(event.target.result)));
        const count = db.transaction('kept').objectStore('kept').count();
        return new Promise((done) => (count.onsuccess = () => done(count.result)));
      });
    const until = async (number) => {
      for (let i = 0; i < 50 && (await waiting()) !== number; i += 1) await person.page.waitForTimeout(100);
      assert.equal(await waiting(), number, 'pictures kept in the browser');
    };
    const taken = async (caption) => {
      const buffer = await person.page.screenshot({ type: 'jpeg' });
      await sheet.choose('Section, counted from the top', /every|all/i);
      await person.page.getByLabel('Photograph', { exact: true }).setInputFiles({ name: 'leak.jpg', mimeType: 'image/jpeg', buffer });
      await person.fill({ 'What it shows': caption });
    };
    const chosen = () => person.page.getByLabel('Photograph', { exact: true }).evaluate((input) => input.files.length);
    const shown = async () => {
      await sheet.open();
      return person.page.locator('figure.photo').count();
    };
    const reopened = async (address) => {
      await person.page.close();
      await person.context.setOffline(false);
      person.page = await person.context.newPage();
      await person.goto(address);
    };
    // A link waits for the connection, and never ends on the browser's own page.
    await sheet.open();
    await person.context.setOffline(true);
    await person.page.getByRole('link', { name: 'Add a photograph', exact: true }).click();
    await person.page.getByText('No connection: the page opens as soon as the register answers.').waitFor();
    await Promise.all([person.page.waitForEvent('load'), person.context.setOffline(false)]);

    // Chosen and not sent, it is back with what was typed beside it.
    await taken('leak path at the lower end');
    await until(1);
    await sheet.pictures('photograph');
    await reopened(`/bench/${sheet.tag}/photo`);
    await person.page.getByText('What you had chosen and typed here is back; it is not saved yet.').waitFor();
    assert.equal(await chosen(), 1);

    await person.context.setOffline(true);
    await person.page.getByRole('button', { name: 'Add the photograph' }).click();
    await person.page.getByText(WAITS).waitFor();
    await reopened('/gauges');
    await person.page.getByText(/^Saved: “Add a photograph”/).waitFor();
    await until(0);
    assert.equal(await shown(), 1);
    await person.reads('leak path at the lower end');
    assert.equal(await shown(), 1, 'a page opened later does not send it again');

    // What is refused is not lost either.
    await sheet.open('/photo');
    await sheet.choose('Section, counted from the top', /every|all/i);
    const file = { name: 'notes.jpg', mimeType: 'image/jpeg', buffer: Buffer.from('no picture at all') };
    await person.page.getByLabel('Photograph', { exact: true }).setInputFiles(file);
    await person.page.getByRole('button', { name: 'Add the photograph' }).click();
    await person.page.getByText('Not saved: see what is wrong below.').waitFor();
    for (let i = 0; i < 50 && (await chosen()) === 0; i += 1) await person.page.waitForTimeout(100);
    assert.equal(await chosen(), 1);

    // Without room it is said plainly, and the page that stays open sends it.
    await sheet.open('/photo');
    await person.page.evaluate(() => {
      IDBObjectStore.prototype.put = () => {
        throw new DOMException('full', 'QuotaExceededError');
      };
    });
    await taken('the same from the side');
    await person.page.getByText('There is no room in this browser to keep the picture').waitFor();
    await person.context.setOffline(true);
    await person.page.getByRole('button', { name: 'Add the photograph' }).click();
    await person.page.getByText('it waits on this page only').waitFor();
    await Promise.all([person.page.waitForEvent('load'), person.context.setOffline(false)]);
    assert.equal(await shown(), 2);
  });

  step('several photographs wait in their order without a connection, each is shown, and each is there once', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    const line = () => person.page.locator('.queue li');
    const add = async (caption, file) => {
      const buffer = file ?? (await person.page.screenshot({ type: 'jpeg' }));
      await sheet.choose('Section, counted from the top', /every|all/i);
      await person.page.getByLabel('Photograph', { exact: true }).setInputFiles({ name: 'face.jpg', mimeType: 'image/jpeg', buffer });
      await person.fill({ 'What it shows': caption });
      const before = await line().count();
      await person.page.getByRole('button', { name: 'Add the photograph' }).click();
      await line().nth(before).waitFor();
      await person.page.getByText(WAITS).waitFor();
    };
    const captions = () => person.page.locator('figure.photo figcaption').allInnerTexts();
    await sheet.open();
    const already = (await captions()).length;
    await sheet.open('/photo');
    await person.context.setOffline(true);
    for (const caption of ['first face', 'second face', 'third face']) await add(caption);
    assert.match((await line().allInnerTexts()).join('; '), /^To be sent next: .*“first face”.*; Then: .*“second face”.*; Then: .*“third face”/);
    await sheet.pictures('photographs that wait');
    const keys = await person.page.evaluate(() => Object.keys(localStorage).filter((name) => name.startsWith('bench-waits:')));
    assert.equal(new Set(keys).size, 3, 'each has a key of its own');
    // One answer is lost on the way back: the register has that picture and is asked once more.
    let posts = 0;
    await person.page.route('**/photo', async (route) => {
      if (route.request().method() !== 'POST') return route.continue();
      posts += 1;
      if (posts !== 2) return route.continue();
      await route.fetch({ maxRedirects: 0 });
      return route.abort('connectionreset');
    });
    await Promise.all([person.page.waitForEvent('load'), person.context.setOffline(false)]);
    await person.page.getByText(/^Saved: “Add a photograph”/).waitFor();
    await person.page.unroute('**/photo');
    assert.equal(posts, 4);
    const now = (await captions()).join('; ');
    assert.equal((await captions()).length, already + 3);
    assert.match(now, /first face.*second face.*third face/s);

    // They outlive their page, and one that is refused holds up none behind it and is not lost.
    await sheet.open('/photo');
    await person.context.setOffline(true);
    await add('no picture', Buffer.from('no picture at all'));
    await add('fourth face');
    await person.page.close();
    await person.context.setOffline(false);
    person.page = await person.context.newPage();
    await sheet.open('/photo');
    await person.page.getByText(/Saved: “Add a photograph”.*Not saved: .*“no picture”.*It is back in this form/).waitFor();
    assert.equal(await person.page.getByLabel('What it shows').inputValue(), 'no picture');
    assert.equal(await person.page.getByLabel('Photograph', { exact: true }).evaluate((input) => input.files.length), 1);
    assert.equal(await line().count(), 0);
    await person.page.getByLabel('Photograph', { exact: true }).setInputFiles([]);
    await person.fill({ 'What it shows': '' });
    await sheet.open();
    assert.equal((await captions()).length, already + 4);
  });

  step('a step that waits takes no second entry, and the page says why', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    await sheet.open('/made-safe');
    await sheet.tickAll();
    await person.fill({ Permit: 'P-6', 'Lock or tag': 'L-6' });
    await person.context.setOffline(true);
    await person.page.getByRole('button', { name: 'It is made safe' }).click();
    await person.page.getByText(WAITS).waitFor();
    await person.page.getByText('what a step records rests on what was recorded before it').waitFor();
    await Promise.all([person.page.waitForEvent('load'), person.context.setOffline(false)]);
    assert.equal(await sheet.entries(), 2);
  });

  step('what waits is not sent by a colleague who signs in at the same tablet, but by its own person', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    await sheet.open('/remark');
    await person.page.locator('main form textarea').first().fill('The drain valve is stiff.');
    // The session ends while nothing gets through.
    await person.page.route('**/bench/**', (route) =>
      route.request().method() === 'POST' ? route.abort('internetdisconnected') : route.continue(),
    );
    await person.page.locator('main form.big button').first().click();
    await person.page.getByText(WAITS).waitFor();
    await person.context.clearCookies();
    await Promise.all([person.page.waitForURL(/people\/sign-in/), person.page.unroute('**/bench/**')]);
    await person.fill({ 'Name you sign in with': 'second', Password: 'a strip of flat glass' });
    await person.press('Sign in');
    await person.goto('/bench');
    await person.page.getByText(/by Corwin Mossbank: not sent under your name\. It is sent when Corwin Mossbank signs in here again/).waitFor();
    await person.page.waitForTimeout(1500);
    await sheet.open();
    await assert.rejects(person.reads('The drain valve is stiff.'));
    await person.press('Sign out');
    // Any page of the register sends it, the first one after signing in too.
    await person.signIn('technician');
    await person.page.getByText(/^Saved/).waitFor();
    await sheet.open();
    await person.reads('The drain valve is stiff.');
    assert.equal(await sheet.entries(), 3);
  });

  step('a page that is still open when a colleague signs in beside it sends nothing under their name', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    const signsIn = async (page, name) => {
      await page.goto(`${person.plant.address}/bench`);
      await page.getByRole('button', { name: 'Sign out' }).click();
      await page.waitForURL(/sign-in/);
      await page.goto(`${person.plant.address}/people/sign-in`);
      await page.getByLabel('Name you sign in with').fill(name);
      await page.getByLabel('Password', { exact: true }).fill('a strip of flat glass');
      await page.getByRole('button', { name: 'Sign in' }).click();
      await page.waitForLoadState();
    };
    let recorded = await sheet.entries();
    for (const [step, fill, button] of [
      ['/remark', () => person.page.locator('main form textarea').first().fill('The gland weeps.'), 'Record it'],
      ['/made-safe', async () => { await sheet.tickAll(); await person.fill({ Permit: 'P-7', 'Lock or tag': 'L-7' }); }, 'It is made safe'],
    ]) {
      await sheet.open(step);
      await fill();
      await person.context.route('**/bench/**', (route) =>
        route.request().method() === 'POST' ? route.abort('internetdisconnected') : route.continue(),
      );
      await person.page.getByRole('button', { name: button }).click();
      await person.page.getByText(WAITS).waitFor();
      const beside = await person.context.newPage();
      await signsIn(beside, 'second');
      await beside.getByText(/by Corwin Mossbank: not sent under your name/).waitFor();
      await person.context.unroute('**/bench/**');
      await person.page.getByText(/^Not sent: somebody else is signed in here now\..*when Corwin Mossbank signs in again/).waitFor();
      await beside.goto(`${person.plant.address}/bench/${sheet.tag}`);
      assert.equal(await beside.locator('article.entry').count(), recorded, 'nothing under the other name');
      await signsIn(beside, 'technician');
      await beside.getByText(/^Saved/).waitFor();
      await beside.close();
      recorded += 1;
      assert.equal(await sheet.entries(), recorded);
    }
    await bench.people.engineer.goto(`/gauges/${sheet.tag}/rebuilds/1`);
    await assert.rejects(bench.people.engineer.reads('Isolde Fenwater'));
  });

  step('the register proves itself, and nothing else went wrong', async () => {
    for (const person of [bench.people.technician, bench.people.second]) {
      assert.deepEqual(unexpected(person.troubles), []);
    }
    const copy = path.join(bench.folder, 'register.db');
    assert.equal((await command('backup', '--data', bench.plant.folder, copy)).code, 0);
    const verified = await command('verify', '--data', bench.folder);
    assert.equal(verified.code, 0, verified.stdout + verified.stderr);
  });
});

// The bench over a bad connection: at every step the connection is cut in the middle and comes back, in
// each of the ways it does; nothing is lost, nothing is doubled, and the person sees what waits.

import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import path from 'node:path';
import { describe } from 'node:test';

import { REFLEX, day, onBench, reflex, transparent } from './bench_world.mjs';
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

/** What waits in the browser, line by line. */
const lines = (person) => person.page.locator('.queue li');

/** Adds a photograph without a connection, with which its page goes on. */
async function photographed(sheet, caption, file) {
  const { person } = sheet;
  const buffer = file ?? (await person.page.screenshot({ type: 'jpeg' }));
  await sheet.choose('Section, counted from the top', /every|all/i);
  await person.page.getByLabel('Photograph', { exact: true }).setInputFiles({ name: 'face.jpg', mimeType: 'image/jpeg', buffer });
  await person.fill({ 'What it shows': caption });
  const before = await lines(person).count();
  await person.page.getByRole('button', { name: 'Add the photograph' }).click();
  await lines(person).nth(before).waitFor();
  await person.page.getByText(WAITS).waitFor();
  return buffer;
}

/** Lets pages come and keeps what they post from arriving, until the answer is called. */
async function unheard(person) {
  const posts = (route) => (route.request().method() === 'POST' ? route.abort('internetdisconnected') : route.continue());
  await person.context.route('**/bench/**', posts);
  return () => person.context.unroute('**/bench/**', posts);
}

/** How many pictures lie in the browser. */
const picturesKept = (page) =>
  page.evaluate(async () => {
    const db = await new Promise((done) => (indexedDB.open('bench-files').onsuccess = (event) => done(event.target.result)));
    const count = db.transaction('kept').objectStore('kept').count();
    return new Promise((done) => (count.onsuccess = () => done(count.result)));
  });

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
    assert.equal(await sheet.entries(), 5 + sheet.faces + sheet.sections);
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
    const waiting = () => picturesKept(person.page);
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
    const line = () => lines(person);
    const add = (caption, file) => photographed(sheet, caption, file);
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
    await person.page.getByRole('button', { name: 'It is made safe' }).click();
    await person.page.locator('.bench .summary').waitFor();
    await sheet.tickAll();
    await person.fill({ Permit: 'P-6', 'Lock or tag': 'L-6' });
    await person.context.setOffline(true);
    await person.page.getByRole('button', { name: 'It is made safe' }).click();
    await person.page.getByText(WAITS).waitFor();
    // What was refused before is not said of what waits.
    assert.equal(await person.page.locator('.bench .summary').count(), 0);
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

  step('what was entered for a rebuild that ended meanwhile is not put into the next one, and is saved, read or left out', async () => {
    const sheet = reflex(bench.people.technician);
    const { person } = sheet;
    const { engineer } = bench.people;
    const remark = 'The lower gland weeps a little when it is cold, and no more once the drum is at pressure; look again next time.';
    const plan = async () => {
      await engineer.goto(`/gauges/${REFLEX}/rebuild`);
      await engineer.fill({ 'Planned for': day(0) });
      await engineer.press('Plan it');
    };
    const abandon = async () => {
      await engineer.goto(`/bench/${REFLEX}/abandon`);
      await engineer.fill({ 'Why it is abandoned': 'The drum stays in service' });
      await engineer.press('Abandon it');
    };
    const write = async (words) => {
      await person.page.locator('main form textarea').first().fill(words);
      await person.page.getByRole('button', { name: 'Record it' }).click();
    };
    await plan();
    await sheet.open('/photo');
    const heard = await unheard(person);
    const picture = await photographed(sheet, 'leak at the lower gland');
    await sheet.open('/remark');
    await write(remark);
    await person.page.getByText(WAITS).waitFor();
    await abandon();
    await plan();
    await heard();
    // Sent from a page that has no summary of errors, it still says why it was refused.
    await person.goto('/gauges');
    const why = /“.*”, entered at .*This was entered for rebuild 2 of LG-1107A, which was abandoned on .*; rebuild 3 is planned and was left as it is\./;
    const [photo, words] = ['leak at the lower gland', 'The lower gland weeps'].map((said) => lines(person).filter({ hasText: said }));
    for (const one of [photo, words]) await one.filter({ hasText: why }).waitFor();
    await sheet.pictures('refused for good');
    const low = await person.page.locator('.queue button, .queue summary, .queue a').evaluateAll((all) => all.filter((one) => one.getBoundingClientRect().height < 47.5).map((one) => one.textContent));
    assert.deepEqual(low, [], 'gloves reach all of it');
    const file = await person.download(photo.getByRole('button', { name: /^Save the picture/ }), bench.folder);
    assert.deepEqual(await readFile(file), picture, 'the picture as it was taken');
    await words.getByText('All its words').click();
    await words.getByText(remark, { exact: true }).waitFor();

    // Left out by mistake, it is put back with the next press; left out for good, it goes with its picture.
    await photo.getByRole('button', { name: /^Leave it out/ }).click();
    await photo.filter({ hasText: /^Left out: / }).waitFor();
    await person.page.keyboard.press('Enter');
    await photo.getByRole('button', { name: /^Save the picture/ }).waitFor();
    for (const one of [photo, words]) await one.getByRole('button', { name: /^Leave it out/ }).click();
    await person.goto('/gauges');
    await photo.getByRole('button', { name: /^Put it back/ }).waitFor();
    assert.equal(await picturesKept(person.page), 1);
    await person.page.evaluate(() => {
      for (const name of Object.keys(localStorage).filter((one) => one.startsWith('bench-waits:'))) {
        const one = JSON.parse(localStorage.getItem(name));
        localStorage.setItem(name, JSON.stringify({ ...one, left: one.left - 11 * 60_000 }));
      }
    });
    await person.goto('/gauges');
    for (let i = 0; i < 50 && (await picturesKept(person.page)) > 0; i += 1) await person.page.waitForTimeout(100);
    assert.equal(await picturesKept(person.page), 0);
    assert.equal(await lines(person).count(), 0);

    // Pressed while one looks on, at a page whose rebuild has just ended, it keeps a line of its own too.
    await sheet.open('/remark');
    await abandon();
    await write(remark);
    await person.page.getByText(/^Not saved: This was entered for rebuild 3 of LG-1107A, which was abandoned/).waitFor();
    await words.getByText('All its words').waitFor();
    assert.equal(await person.page.locator('main form textarea').first().inputValue(), '');
    await words.getByRole('button', { name: /^Leave it out/ }).click();
    for (const rebuild of [2, 3]) {
      await engineer.goto(`/gauges/${REFLEX}/rebuilds/${rebuild}`);
      for (const said of ['leak at the lower gland', 'The lower gland weeps']) await assert.rejects(engineer.reads(said));
    }
  });

  step('nothing that is typed while a remark is on its way is lost', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    const recorded = await sheet.entries();
    await sheet.open('/remark');
    let arrive;
    const held = new Promise((done) => (arrive = done));
    await person.page.route('**/remark', async (route) => {
      if (route.request().method() === 'POST') await held;
      return route.continue();
    });
    const text = person.page.locator('main form textarea').first();
    const typed = async (words) => {
      await text.scrollIntoViewIfNeeded();
      const { x, y, width, height } = await text.boundingBox();
      await person.page.mouse.click(x + width / 2, y + height / 2);
      await person.page.keyboard.type(words);
    };
    await typed('The nameplate is loose.');
    await person.page.getByRole('button', { name: 'Record it' }).click();
    await person.page.getByText('Saving').waitFor();
    // The form takes nothing while its words may still be emptied out of it.
    await typed('The drain is blocked.');
    assert.equal(await text.inputValue(), 'The nameplate is loose.');
    await person.page.getByText(/^Not answered yet: .*This form takes the next one/).waitFor();
    assert.equal(await text.inputValue(), '');
    await typed('The drain is blocked.');
    arrive();
    await person.page.getByText(/^Saved: “Write a remark”/).waitFor();
    assert.equal(await text.inputValue(), 'The drain is blocked.', 'the next one stays');
    await Promise.all([person.page.waitForEvent('load'), person.page.getByRole('button', { name: 'Record it' }).click()]);
    await person.page.unroute('**/remark');
    assert.equal(await sheet.entries(), recorded + 2);
    const sheetNow = await person.page.locator('article.entry').allTextContents();
    for (const words of ['The nameplate is loose.', 'The drain is blocked.']) {
      assert.equal(sheetNow.filter((one) => one.includes(words)).length, 1, words);
    }
  });

  step('a lost picture holds up none behind it, and what is entered while others are being sent goes too', async () => {
    const sheet = transparent(bench.people.technician);
    const { person } = sheet;
    const captions = async () => {
      await sheet.open();
      return person.page.locator('figure.photo figcaption').allInnerTexts();
    };
    const already = (await captions()).length;
    await sheet.open('/photo');
    let heard = await unheard(person);
    await photographed(sheet, 'lost face');
    await photographed(sheet, 'seventh face');
    await person.page.evaluate(async () => {
      await files.drop(WAITS + waiting()[0].key);
    });
    await person.goto('/gauges');
    await heard();
    await person.page.getByText(/Saved: “Add a photograph”.*Not saved: .*“lost face”.*Its picture is not in this browser any more: take it again\./).waitFor();
    assert.equal(await lines(person).getByRole('button', { name: /^Save the picture/ }).count(), 0);
    await lines(person).getByRole('button', { name: /^Leave it out/ }).click();
    assert.match((await captions()).join('; '), /seventh face/);

    // One is refused, and while the page puts it back into its form the next one is entered.
    await sheet.open('/photo');
    heard = await unheard(person);
    await photographed(sheet, 'no picture', Buffer.from('no picture at all'));
    await person.page.evaluate(() => {
      const looks = files.kept.bind(files);
      const held = new Promise((done) => (window.goOn = done));
      files.kept = (name, ...more) => (name.startsWith(DRAFT) ? held.then(() => looks(name, ...more)) : looks(name, ...more));
    });
    await heard();
    await person.page.locator('p.kept').filter({ hasText: /^Not saved: .*“no picture”/ }).waitFor();
    const buffer = await person.page.screenshot({ type: 'jpeg' });
    await person.page.getByLabel('Photograph', { exact: true }).setInputFiles({ name: 'face.jpg', mimeType: 'image/jpeg', buffer });
    await person.fill({ 'What it shows': 'eighth face' });
    await sheet.choose('Section, counted from the top', /every|all/i);
    await person.page.getByRole('button', { name: 'Add the photograph' }).click();
    await person.page.getByText('Saving').waitFor();
    await Promise.all([person.page.waitForEvent('load'), person.page.evaluate(() => window.goOn())]);
    assert.equal((await captions()).length, already + 2);
    assert.match((await captions()).join('; '), /eighth face/);
    // The refused one is still there, and back in its form.
    await sheet.open('/photo');
    await person.page.getByText(/Not saved: .*“no picture”.*It is back in this form/).waitFor();
    assert.equal(await person.page.getByLabel('What it shows').inputValue(), 'no picture');
    await person.page.getByLabel('Photograph', { exact: true }).setInputFiles([]);
    await person.fill({ 'What it shows': '' });
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

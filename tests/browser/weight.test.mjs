// What a page costs to fetch and whether it jumps while it comes: the first page of every role weighs
// less than 100 kB without fonts, has one sheet of style and fetches nothing from elsewhere; with cold
// fonts nothing moves once it is drawn. How fast the server answers is measured in tests/bench.

import assert from 'node:assert/strict';
import { after, before, describe, it } from 'node:test';

import { Person, Plant, openBrowser } from './harness.mjs';
import { demoPeople } from './people.mjs';
import { reached, routes } from './pages.mjs';

/** kB of the decimal kind, as networks are measured. */
const LIGHT = 100_000;

describe('pages are light and stand still', { concurrency: 1, timeout: 300_000 }, () => {
  let plant;
  let browser;
  const states = new Map();
  let examples;

  before(async () => {
    plant = await Plant.start('demo');
    browser = await openBrowser();
    for (const { role, name, password } of demoPeople(plant)) {
      const person = await (await Person.at(browser, plant)).signIn(name, password);
      states.set(role, await person.context.storageState());
      if (role === 'technician') examples = await reached(person, await routes());
      await person.leave();
    }
  });

  after(async () => {
    await browser?.close();
    await plant?.stop();
  });

  it('the first page of everybody is light, with one sheet and nothing from elsewhere', async () => {
    for (const [role, storageState] of [['nobody', undefined], ...states]) {
      const person = await Person.at(browser, plant, { storageState });
      const asked = [];
      person.page.on('request', (request) => asked.push(request));
      await person.page.goto(storageState ? '/' : '/people/sign-in', { waitUntil: 'networkidle' });
      let bytes = 0;
      for (const request of asked) {
        assert.equal(new URL(request.url()).origin, new URL(plant.address).origin, `${role}: ${request.url()}`);
        if (request.resourceType() === 'font') continue;
        const { responseBodySize, responseHeadersSize } = await request.sizes();
        bytes += responseBodySize + responseHeadersSize;
      }
      assert.ok(bytes > 1_000 && bytes < LIGHT, `${role}: ${bytes} bytes`);
      assert.equal(asked.filter((request) => request.resourceType() === 'stylesheet').length, 1, role);
      await person.leave();
    }
  });

  it('what sends from the bench is fetched where it is used, and elsewhere only while something waits', async () => {
    const person = await Person.at(browser, plant, { storageState: states.get('technician') });
    const asked = [];
    person.page.on('request', (request) => asked.push(new URL(request.url()).pathname));
    const scripts = async (address) => {
      asked.length = 0;
      await person.page.goto(plant.address + address, { waitUntil: 'networkidle' });
      return asked.filter((name) => name.endsWith('.js')).map((name) => name.split('/').at(-1)).sort();
    };
    assert.deepEqual(await scripts('/'), ['touch.js']);
    assert.deepEqual(await scripts(examples.get('/bench/{tag}')), ['bench.js', 'files.js', 'passes.js', 'touch.js', 'waiting.js']);
    await person.page.evaluate(() => localStorage.setItem('bench-waits:x', JSON.stringify({ key: 'x', person: '0', at: 1, fields: [] })));
    assert.deepEqual(await scripts('/'), ['bench.js', 'files.js', 'touch.js', 'waiting.js']);
    await person.leave();
  });

  it('nothing moves once it is drawn, with the fonts still to come', async () => {
    const moved = [];
    const pages = ['/', '/gauges/{tag}', '/due', '/bench/{tag}', '/needs', '/people/sign-in'];
    for (const viewport of [{ width: 1440, height: 900 }, { width: 390, height: 844 }]) {
      for (const route of pages) {
        const open = route === '/people/sign-in';
        const options = { viewport, storageState: open ? undefined : states.get('technician') };
        const person = await Person.at(browser, plant, options);
        // Fonts that come late are what makes pages jump.
        await person.context.route('**/*.woff2*', async (asked) => {
          await new Promise((done) => setTimeout(done, 400));
          await asked.continue();
        });
        await person.goto(open ? route : examples.get(route));
        await person.page.evaluate(() => document.fonts.ready);
        const shift = await person.page.evaluate(
          () =>
            new Promise((done) => {
              let sum = 0;
              const parts = [];
              const watch = new PerformanceObserver((list) => {
                for (const one of list.getEntries()) {
                  sum += one.value;
                  parts.push(...one.sources.map(({ node }) => node?.parentElement?.className || node?.nodeName));
                }
              });
              watch.observe({ type: 'layout-shift', buffered: true });
              setTimeout(() => done({ sum, parts: parts.slice(0, 5) }), 250);
            }),
        );
        // The fallback's letters are measured to be as wide as ours; what is left is less than a
        // hundredth, the share of a pixel in a line of words.
        if (shift.sum >= 0.01) moved.push(`${route}, ${viewport.width} wide: ${shift.sum.toFixed(4)} ${shift.parts}`);
        await person.leave();
      }
    }
    assert.deepEqual(moved, []);
  });
});

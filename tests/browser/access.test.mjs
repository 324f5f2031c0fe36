// Every page that somebody of the demo plant reaches by links, held against the rules for people who
// see, hear or move differently (WCAG 2.2 A and AA, by axe-core), in light and in dark.
// Serious and critical findings fail. What only a person can judge is not judged here.

import assert from 'node:assert/strict';
import { after, before, describe, it } from 'node:test';

import { Person, Plant, axeSource, openBrowser } from './harness.mjs';
import { demoPeople } from './people.mjs';
import { reached, routes } from './pages.mjs';

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];
const GRAVE = ['serious', 'critical'];

/** What axe-core finds on a page, one line a finding. */
async function findings(page, source) {
  await page.evaluate(source);
  const found = await page.evaluate(
    (rules) => globalThis.axe.run(document, { runOnly: rules, resultTypes: ['violations'] }),
    RULES,
  );
  return found.violations.flatMap((rule) =>
    rule.nodes.map((node) => ({
      grave: GRAVE.includes(rule.impact),
      line: `${rule.impact} ${rule.id}: ${node.target.join(' ')}: ${node.failureSummary?.split('\n').slice(1).join(' ')}`,
    })),
  );
}

describe('every page can be read by everybody', { concurrency: 1, timeout: 600_000 }, () => {
  let plant;
  let browser;
  let source;
  /** Route to the address and the person who sees it. */
  const seen = new Map();
  const states = new Map();

  before(async () => {
    plant = await Plant.start('demo');
    browser = await openBrowser();
    source = await axeSource();
    const all = await routes();
    for (const { role, name, password } of [{ role: 'nobody' }, ...demoPeople(plant)]) {
      const person = await Person.at(browser, plant);
      if (name) await person.signIn(name, password);
      for (const [route, address] of await reached(person, all, name ? ['/'] : ['/people/sign-in'])) {
        if (!seen.has(route)) seen.set(route, { role, address });
      }
      states.set(role, await person.context.storageState());
      await person.leave();
    }
  });

  after(async () => {
    await browser?.close();
    await plant?.stop();
  });

  for (const colorScheme of ['light', 'dark']) {
    it(`in ${colorScheme} colours`, async () => {
      const grave = [];
      const people = new Map();
      for (const [role, storageState] of states) {
        people.set(role, await Person.at(browser, plant, { colorScheme, storageState }));
      }
      for (const [route, { role, address }] of seen) {
        const { page } = people.get(role);
        await page.goto(address);
        for (const finding of await findings(page, source)) {
          if (finding.grave) grave.push(`${route} as ${role}: ${finding.line}`);
          else console.log(`not grave: ${route}: ${finding.line}`);
        }
      }
      for (const person of people.values()) {
        assert.deepEqual(person.troubles, []);
        await person.leave();
      }
      assert.ok(seen.size >= 10, `only ${seen.size} pages were reached`);
      assert.deepEqual(grave, []);
    });
  }
});

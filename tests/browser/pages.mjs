// Which pages there are: the table of addresses as it stands in the source, and for every address
// in it an example that a person of some role reaches by following links.
// What stands on the pages is not judged here.

import assert from 'node:assert/strict';
import { readFile } from 'node:fs/promises';
import { after, before, describe } from 'node:test';

import { Person, Plant, openBrowser } from './harness.mjs';
import { demoPeople } from './people.mjs';

const table = new URL('../../server/pages/routes.rs', import.meta.url);

/** Every address of the table that shows something, with a pattern for addresses that fit it. */
export async function routes() {
  const source = await readFile(table, 'utf8');
  const paths = [...source.matchAll(/\bshows\(\s*"([^"]+)"/g)].map((found) => found[1]);
  if (paths.length < 10) throw new Error('the table of addresses could not be read');
  return paths
    .map((path) => ({ path, fits: pattern(path) }))
    // A fixed word wins over a parameter, as in the router.
    .sort((a, b) => a.path.split('{').length - b.path.split('{').length);
}

function pattern(path) {
  const text = path
    .replace(/[.*+?^$()|[\]\\]/g, '\\$&')
    .replace(/\{\\\*\w+\}/g, '.+')
    .replace(/\{\w+\}/g, '[^/]+');
  return new RegExp(`^${text}$`);
}

/** The route of an address. */
export function routeOf(all, address) {
  const { pathname } = new URL(address, 'http://plant');
  return all.find((route) => route.fits.test(pathname))?.path;
}

/**
 * Follows links from the board and answers an example for each route that this person reaches:
 * route to address. Files to download and addresses outside the plant are left alone.
 */
export async function reached(person, all, start = ['/']) {
  const examples = new Map();
  const asked = new Map();
  const queue = [...start];
  const seen = new Set(queue);
  while (queue.length > 0) {
    const address = queue.shift();
    const route = routeOf(all, address);
    // Two addresses a route: the first may be an empty case without the links of a full one.
    if (!route || (asked.get(route) ?? 0) >= 2) continue;
    // Files to take away are no pages, and an export of every certificate takes its time.
    if (/\.(pdf|zip|xlsx|csv|ics|json)$/.test(new URL(address, 'http://plant').pathname)) continue;
    asked.set(route, (asked.get(route) ?? 0) + 1);
    const answer = await person.context.request.get(address, { maxRedirects: 0 });
    const kind = answer.headers()['content-type'] ?? '';
    if (answer.status() !== 200 || !kind.startsWith('text/html')) continue;
    if (!examples.has(route)) examples.set(route, address);
    const html = await answer.text();
    for (const [, found] of html.matchAll(/<a\b[^>]*\bhref="([^"#]+)/g)) {
      const link = found.replaceAll('&#38;', '&').replaceAll('&amp;', '&');
      if (link.startsWith('/') && !seen.has(link)) {
        seen.add(link);
        queue.push(link);
      }
    }
  }
  return examples;
}

/** What everybody of the demo plant reaches: role, how they are signed in, and route to address. */
async function reachedByAll(browser, plant) {
  const all = await routes();
  const each = [];
  for (const { role, name, password } of [{ role: 'nobody' }, ...demoPeople(plant)]) {
    const person = await Person.at(browser, plant);
    if (name) await person.signIn(name, password);
    const examples = await reached(person, all, name ? ['/'] : ['/people/sign-in', '/check']);
    each.push({ role, storageState: await person.context.storageState(), examples });
    await person.leave();
  }
  return each;
}

/**
 * Lets every role open every page it reaches, two windows at once, and answers what `look(page)`
 * found, one line a finding, with route and role before it. Pages that look alike are not skipped.
 */
async function everywhere(browser, plant, each, options, look) {
  const visits = each.flatMap(({ role, storageState, examples }) =>
    [...examples].map(([route, address]) => ({ role, storageState, route, address })),
  );
  const found = [];
  const worker = async (visits) => {
    let person;
    let role;
    for (const visit of visits) {
      if (visit.role !== role) {
        await person?.leave();
        person = await Person.at(browser, plant, { ...options, storageState: visit.storageState });
        ({ role } = visit);
      }
      await person.goto(visit.address);
      for (const line of await look(person.page, visit)) found.push(`${visit.route} as ${role}: ${line}`);
      for (const trouble of person.troubles.splice(0)) found.push(`${visit.route} as ${role}: ${trouble}`);
    }
    await person?.leave();
  };
  const half = Math.ceil(visits.length / 2);
  await Promise.all([worker(visits.slice(0, half)), worker(visits.slice(half))]);
  return { found: found.sort(), visits: visits.length };
}

/**
 * Tests of every page of a demo plant in every role. `tests` is given `holds(options, look)`, which
 * opens them all and fails with every finding of `look(page, visit)`.
 */
export function ofEveryPage(about, tests) {
  describe(about, { concurrency: 1, timeout: 600_000 }, () => {
    let plant;
    let browser;
    let each;

    before(async () => {
      plant = await Plant.start('demo');
      browser = await openBrowser();
      each = await reachedByAll(browser, plant);
    });

    after(async () => {
      await browser?.close();
      await plant?.stop();
    });

    tests(async (options, look) => {
      const { found, visits } = await everywhere(browser, plant, each, options, look);
      assert.ok(visits >= 200, `only ${visits} pages were visited`);
      assert.deepEqual(found, []);
    });
  });
}

// Pictures of every page as every role sees it: wide, tablet and narrow, light and dark.
// For people to look at; nothing is compared with anything.
//
//   tests/browser/shots [--into FOLDER] [--role WORD] [--page WORD] [--width N] [--data DIR]

import { mkdir } from 'node:fs/promises';
import path from 'node:path';
import { parseArgs } from 'node:util';

import { Person, Plant, openBrowser } from './harness.mjs';
import { demoPeople } from './people.mjs';
import { reached, routes } from './pages.mjs';

const HEIGHTS = { 1440: 1000, 820: 1180, 390: 844 };

const { values: asked } = parseArgs({
  options: {
    into: { type: 'string', default: '.local/shots' },
    role: { type: 'string' },
    page: { type: 'string' },
    width: { type: 'string' },
    // A demo plant made before is served again, which is quicker than making one.
    data: { type: 'string', default: '.local/shots-plant' },
  },
});

const widths = Object.keys(HEIGHTS).filter((width) => !asked.width || asked.width === width);
const name = (route) => (route === '/' ? 'board' : route.slice(1).replace(/[^a-z0-9]+/gi, '-'));

const all = await routes();
const plant = await Plant.start('demo', path.resolve(asked.data));
const browser = await openBrowser();
const never = new Set(all.map((route) => route.path));
let count = 0;
try {
  const people = [{ role: 'nobody' }, ...demoPeople(plant)];
  for (const { role, name: signIn, password } of people) {
    if (asked.role && asked.role !== role) continue;
    const scout = await Person.at(browser, plant);
    if (signIn) await scout.signIn(signIn, password);
    const examples = await reached(scout, all, signIn ? ['/'] : ['/people/sign-in']);
    const state = await scout.context.storageState();
    await scout.leave();
    for (const route of examples.keys()) never.delete(route);
    for (const width of widths) {
      for (const colorScheme of ['light', 'dark']) {
        const into = path.resolve(asked.into, role, `${width}-${colorScheme}`);
        await mkdir(into, { recursive: true });
        const viewport = { width: Number(width), height: HEIGHTS[width] };
        const person = await Person.at(browser, plant, { viewport, colorScheme, storageState: state });
        for (const [route, address] of examples) {
          if (asked.page && !route.includes(asked.page)) continue;
          await person.goto(address);
          await person.page.screenshot({ path: path.join(into, `${name(route)}.png`), fullPage: true });
          count += 1;
        }
        for (const trouble of person.troubles) console.error(`${role} ${width} ${colorScheme}: ${trouble}`);
        await person.leave();
      }
    }
    console.log(`${role}: ${examples.size} pages`);
  }
} finally {
  await browser.close();
  await plant.stop();
}
console.log(`${count} pictures in ${path.resolve(asked.into)}`);
if (!asked.role && never.size > 0) console.log(`no page seen for: ${[...never].join(', ')}`);

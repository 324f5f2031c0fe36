// The pictures of README.md, taken of a freshly made demo plant.
//
//   tests/browser/shots readme

import { mkdir } from 'node:fs/promises';
import path from 'node:path';

import { Person, Plant, openBrowser } from './harness.mjs';
import { demoPeople } from './people.mjs';

const into = path.resolve('static/pictures');

const plant = await Plant.start('demo');
const browser = await openBrowser();

/** Signs somebody in, in a window of this size, and takes what they see. */
async function take(name, role, size, find) {
  const { name: signIn, password } = demoPeople(plant).find((one) => one.role === role);
  const person = await Person.at(browser, plant, { viewport: size });
  await person.signIn(signIn, password);
  await find(person);
  await person.page.evaluate(() => document.fonts.ready);
  await person.page.screenshot({ path: path.join(into, name) });
  await person.leave();
}

/** Opens the first gauge that a page names. */
const firstOf = (address) => async (person) => {
  await person.goto(address);
  await person.page.locator('main a.tag').first().click();
  await person.page.waitForLoadState();
};

try {
  await mkdir(into, { recursive: true });
  await take('board.png', 'engineer', { width: 1440, height: 900 }, (person) => person.goto('/'));
  await take('gauge.png', 'engineer', { width: 1440, height: 900 }, firstOf('/due'));
  await take('bench.png', 'technician', { width: 820, height: 1000 }, firstOf('/bench'));
} finally {
  await browser.close();
  await plant.stop();
}

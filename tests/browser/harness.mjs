// A plant served by the built program, and people who work with it in a real browser.
// What they do there stands in the *.test.mjs files; nothing here knows a page of the product but
// the one where people sign in.

import { execFile, spawn } from 'node:child_process';
import { mkdir, mkdtemp, readFile, rm } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { createInterface } from 'node:readline';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';

const run = promisify(execFile);
const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), '..', '..');
const program = process.env.GAUGEWRIGHT_BINARY ?? path.join(root, 'target/debug/gaugewright');
// The packages lie outside the tracked folders; tests/run puts them there and says where.
const modules = path.resolve(root, process.env.GAUGEWRIGHT_MODULES ?? '.local/browser');
const packages = createRequire(path.join(modules, 'package.json'));
const { chromium } = packages('playwright-core');

/** Where pictures of pages that failed go. */
export const failures = path.join(root, '.local', 'failures');
/** The first page is slow on a machine that also compiles. */
const PATIENCE = 30_000;
/** What is not on a page that has loaded will not come. */
const SEARCH = 5_000;

/** The password of everybody in these tests. */
export const PASSWORD = 'a strip of flat glass';

/** The source of axe-core, to be evaluated in a page. */
export const axeSource = () => readFile(packages.resolve('axe-core/axe.min.js'), 'utf8');

/** Runs the program to its end and answers its exit code and what it wrote. */
export async function command(...args) {
  try {
    const { stdout, stderr } = await run(program, args);
    return { code: 0, stdout, stderr };
  } catch (error) {
    if (typeof error.code !== 'number') throw error;
    return { code: error.code, stdout: error.stdout, stderr: error.stderr };
  }
}

/** The text of a PDF file in reading order, spaces folded. */
export async function textOf(pdf) {
  const { stdout } = await run('pdftotext', ['-raw', pdf, '-']);
  return stdout.replace(/\s+/g, ' ').trim();
}

/** A plant in a folder of its own, served on a free port of the loopback. */
export class Plant {
  /** `command` is `serve` for an empty plant or `demo` for the invented one. */
  static async start(command = 'serve', folder = undefined, options = []) {
    const plant = new Plant();
    plant.kept = folder !== undefined;
    plant.folder = folder ?? (await mkdtemp(path.join(tmpdir(), 'gaugewright-')));
    await plant.serve(command, options);
    return plant;
  }

  /** Kills the program as a cut of power would. */
  async kill() {
    if (this.ended()) return;
    const gone = new Promise((done) => this.child.once('exit', done));
    this.child.kill('SIGKILL');
    await gone;
  }

  /** Serves the same folder at the same address, its clock so many minutes further ahead. */
  async again(minutes = 0) {
    this.ahead = (this.ahead ?? 0) + minutes;
    await this.serve('serve', [], new URL(this.address).host, this.ahead);
  }

  /** Stops the program and serves the same folder at the same address, its clock so far ahead. */
  async later(minutes) {
    await this.halt();
    await this.again(minutes);
  }

  /** Whether the program has ended. */
  ended() {
    return this.child.exitCode !== null || this.child.signalCode !== null;
  }

  async serve(command, options, listen = '127.0.0.1:0', ahead = 0) {
    const args = [command, '--data', this.folder, '--listen', listen, '--log', 'warn', ...options];
    const env = { ...process.env };
    if (ahead > 0) {
      // A hold lasts longer than a test may, so the clock the program reads is turned.
      const { stdout } = await run('faketime', ['-m', '-f', '+0', 'printenv', 'LD_PRELOAD']);
      Object.assign(env, {
        LD_PRELOAD: stdout.trim(),
        FAKETIME: `+${ahead}m`,
        FAKETIME_DONT_FAKE_MONOTONIC: '1',
      });
    }
    const child = spawn(program, args, { stdio: ['ignore', 'pipe', 'pipe'], env });
    this.child = child;
    this.printed = [];
    this.log = [];
    createInterface({ input: child.stderr }).on('line', (line) => this.log.push(line));
    await new Promise((ready, refuse) => {
      child.once('error', refuse);
      child.once('exit', (code) =>
        refuse(new Error(`the program ended with ${code}: ${this.log.join('\n')}`)),
      );
      createInterface({ input: child.stdout }).on('line', (line) => {
        this.printed.push(line);
        const serves = line.match(/\bserves (http:\S+)/);
        if (serves) {
          this.address = serves[1];
          ready();
        }
      });
    });
  }

  /** The one-time address at which the first administrator begins. */
  get firstAddress() {
    const line = this.printed.find((text) => text.includes('/people/first/'));
    if (!line) throw new Error(`no first address in:\n${this.printed.join('\n')}`);
    return line.trim();
  }

  /** Stops the program as the system would, waits, and answers its exit code. */
  async halt() {
    if (this.ended()) return this.child.exitCode;
    const ended = new Promise((done) => this.child.once('exit', done));
    this.child.kill('SIGTERM');
    return ended;
  }

  async stop() {
    await this.halt();
    if (!this.kept) await rm(this.folder, { recursive: true, force: true });
  }
}

/** Chromium, with a profile of its own and none of its talk to the outside. */
export function openBrowser() {
  return chromium.launch({
    executablePath: process.env.GAUGEWRIGHT_CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** Takes the option that is worded so, or begins so: some say more than their value. */
async function select(field, words) {
  const options = await field.locator('option').allInnerTexts();
  const found = options.find((o) => o === words) ?? options.find((o) => o.startsWith(`${words},`));
  if (found === undefined) throw new Error(`no option ${words} among: ${options.join(' | ')}`);
  await field.selectOption({ label: found });
}

/** Somebody at a browser window of their own. */
export class Person {
  static async at(browser, plant, options = {}) {
    const person = new Person();
    person.plant = plant;
    person.context = await browser.newContext({
      baseURL: plant.address,
      locale: 'en-GB',
      timezoneId: 'UTC',
      acceptDownloads: true,
      ...options,
    });
    person.context.setDefaultTimeout(PATIENCE);
    person.page = await person.context.newPage();
    person.troubles = [];
    // A refused form answers 422, and the browser notes that in its console: no trouble.
    person.page.on('console', (message) => {
      if (message.type() === 'error' && !/status of 4(03|22)/.test(message.text())) {
        person.troubles.push(message.text());
      }
    });
    person.page.on('pageerror', (error) => person.troubles.push(String(error)));
    person.page.on('response', (response) => {
      if (response.status() >= 500) person.troubles.push(`${response.status()} ${response.url()}`);
    });
    return person;
  }

  async goto(address) {
    return this.page.goto(address);
  }

  async signIn(name, password = PASSWORD) {
    await this.goto('/people/sign-in');
    await this.fill({ 'Name you sign in with': name, Password: password });
    await this.press('Sign in');
    return this;
  }

  async signOut() {
    await this.press('Sign out');
  }

  /** Types into the fields, found by their labels; a list is chosen from, a box is ticked. */
  async fill(fields, within = this.page) {
    for (const [label, value] of Object.entries(fields)) {
      const field = within.getByLabel(label, { exact: true }).first();
      const kind = await field.evaluate((f) => (f.tagName === 'SELECT' ? 'select' : f.type));
      if (kind === 'select') await select(field, value);
      else if (kind === 'checkbox' || kind === 'radio') await field.setChecked(value);
      else await field.fill(String(value));
    }
  }

  /** Takes one of the tiles of a choice, found by its legend. */
  async choose(legend, words) {
    const tiles = this.page.getByRole('group', { name: legend });
    await tiles.locator('label', { hasText: words }).first().click();
  }

  /** Ticks boxes, found by the words beside them. */
  async tick(...all) {
    for (const words of all) {
      const label = this.page.locator('label', { hasText: words }).first();
      if (!(await label.locator('input').isChecked())) await label.click();
    }
  }

  /** Presses a button and waits for the page that comes back. */
  async press(name, within = this.page) {
    const button = within.getByRole('button', { name, exact: typeof name === 'string' }).first();
    await button.waitFor({ timeout: SEARCH });
    await Promise.all([this.page.waitForEvent('load'), button.click()]);
  }

  /** Follows a link and waits for its page. */
  async follow(name, within = this.page) {
    const link = within.getByRole('link', { name, exact: typeof name === 'string' }).first();
    await link.waitFor({ timeout: SEARCH });
    await Promise.all([this.page.waitForEvent('load'), link.click()]);
  }

  /** The words of the page's content, as a person sees them, spaces folded. */
  async words() {
    const text = await this.page.locator('main').innerText();
    return text.replace(/\s+/g, ' ').trim();
  }

  /** Fails unless the page says this. */
  async reads(words) {
    const page = await this.words();
    const found = words instanceof RegExp ? words.test(page) : page.includes(words);
    if (!found) {
      throw new Error(`${this.page.url()} should say ${words}; it says:\n${page}`);
    }
    return page;
  }

  /** Saves what a link downloads and answers the file. */
  async download(link, folder) {
    const [download] = await Promise.all([this.page.waitForEvent('download'), link.click()]);
    const file = path.join(folder, download.suggestedFilename());
    await download.saveAs(file);
    return file;
  }

  /** Keeps a picture of the page for whoever looks into a failure. */
  async picture(name) {
    await mkdir(failures, { recursive: true });
    const file = path.join(failures, `${name.replace(/[^a-z0-9]+/gi, '-')}.png`);
    await this.page.screenshot({ path: file, fullPage: true });
    return file;
  }

  async leave() {
    await this.context.close();
  }
}

// How fast certificates are exported and in how much memory: the first paper, then all of them as one
// ZIP, twice. Nothing is held against an aim; it prints figures.
//
//   eval "$(tests/run browser-settings)"; GAUGEWRIGHT_BINARY=target/release/gaugewright \
//     "$NODE" tests/bench/export.mjs [--gauges 400] [--data DIR]

import { readFile } from 'node:fs/promises';
import { availableParallelism } from 'node:os';
import path from 'node:path';
import { parseArgs } from 'node:util';

import { Plant } from '../browser/harness.mjs';
import { demoPeople } from '../browser/people.mjs';

const { values: asked } = parseArgs({
  options: {
    // 400 gauges come to a little over 1,000 certificates.
    gauges: { type: 'string', default: '400' },
    data: { type: 'string', default: '.local/export-plant' },
  },
});

/** Memory is looked at each time so many bytes have come. */
const LOOK = 25e6;

const plant = await Plant.start('demo', path.resolve(asked.data), ['--gauges', asked.gauges]);

/** A number as pages write it, with narrow spaces between its thousands. */
const number = (text) => Number(text.replace(/\D/g, ''));

/** Resident memory of the program in MB, now and at the most so far. */
async function memory() {
  const status = await readFile(`/proc/${plant.child.pid}/status`, 'utf8');
  const of = (name) => Math.round(Number(status.match(new RegExp(`${name}:\\s+(\\d+)`))[1]) / 1024);
  return { now: of('VmRSS'), most: of('VmHWM') };
}

try {
  const { name, password } = demoPeople(plant).find((one) => one.role === 'inspector');
  const signed = await fetch(`${plant.address}/people/sign-in`, {
    method: 'POST',
    redirect: 'manual',
    body: new URLSearchParams({ name, password }),
  });
  const cookie = signed.headers.getSetCookie().map((one) => one.split(';')[0]).join('; ');
  const get = (address) => fetch(plant.address + address, { headers: { cookie } });

  const list = await (await get('/pressure-tests/certificates')).text();
  const [, paper] = list.match(/href="\/pressure-tests\/certificates\/([^"/?]+-C-[^"/?]+)"/);
  for (const which of ['first', 'second']) {
    const began = performance.now();
    await (await get(`/pressure-tests/certificates/${paper}.pdf?paper=a4`)).arrayBuffer();
    console.log(`${which} paper: ${(performance.now() - began).toFixed(0)} ms`);
  }
  for (const which of ['first', 'second']) {
    const before = await memory();
    const began = performance.now();
    const ticket = `bench${which}`.slice(0, 16);
    const answer = await get(`/pressure-tests/certificates/export.zip?paper=a4&ticket=${ticket}`);
    if (!answer.ok) throw new Error(`the export was refused: ${answer.status}`);
    let bytes = 0;
    let next = LOOK;
    for await (const piece of answer.body) {
      bytes += piece.length;
      if (bytes < next) continue;
      console.log(`  ${(bytes / 1e6).toFixed(0)} MB: ${(await memory()).now} MB of memory`);
      next += LOOK;
    }
    const seconds = (performance.now() - began) / 1000;
    const page = await (await get(`/pressure-tests/certificates/export?ticket=${ticket}`)).text();
    const written = page.replace(/<[^>]*>/g, ' ').match(/All ([\d,\s]+) certificates? written/);
    if (!written) throw new Error(`the export did not end:\n${page}`);
    const count = number(written[1]);
    const rate = count / seconds;
    const after = await memory();
    console.log(
      `${which} export: ${count} certificates, ${(bytes / 1e6).toFixed(1)} MB in ${seconds.toFixed(1)} s:` +
        ` ${rate.toFixed(0)} a second, ${(rate / availableParallelism()).toFixed(0)} a second and processor;` +
        ` memory ${before.now} MB before, ${after.now} MB after, ${after.most} MB at the most`,
    );
  }
} finally {
  await plant.stop();
}

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

const plant = await Plant.start('demo', path.resolve(asked.data), ['--gauges', asked.gauges]);

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
  const [, number] = list.match(/href="\/pressure-tests\/certificates\/([^"/?]+-C-[^"/?]+)"/);
  for (const which of ['first', 'second']) {
    const began = performance.now();
    await (await get(`/pressure-tests/certificates/${number}.pdf?paper=a4`)).arrayBuffer();
    console.log(`${which} paper: ${(performance.now() - began).toFixed(0)} ms`);
  }
  for (const which of ['first', 'second']) {
    const before = await memory();
    const began = performance.now();
    const ticket = `bench${which}`.slice(0, 16);
    const answer = await get(`/pressure-tests/certificates/export.zip?paper=a4&ticket=${ticket}`);
    let bytes = 0;
    let next = 250;
    for await (const piece of answer.body) {
      bytes += piece.length;
      if (bytes < next * 40_000) continue;
      const progress = await (await get(`/pressure-tests/certificates/export?ticket=${ticket}`)).text();
      const done = progress.replace(/<[^>]*>/g, ' ').match(/(\d[\d,\u202f\u00a0 ]*) of (\d[\d,\u202f\u00a0 ]*)/);
      console.log(`  ${done?.[0].trim() ?? '?'}: ${(await memory()).now} MB`);
      next += 250;
    }
    const seconds = (performance.now() - began) / 1000;
    const page = await (await get(`/pressure-tests/certificates/export?ticket=${ticket}`)).text();
    const count = Number(page.match(/All ([\d,]+) certificates? written/)[1].replace(/,/g, ''));
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

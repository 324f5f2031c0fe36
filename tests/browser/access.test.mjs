// Every page that somebody of the demo plant reaches by links, in every role, held against the rules
// for people who see, hear or move differently (WCAG 2.2 A and AA and good practice, by axe-core), in
// light and in dark. Any finding fails. What only a person can judge is not judged here.

import { it } from 'node:test';

import { axeSource } from './harness.mjs';
import { ofEveryPage } from './pages.mjs';

const RULES = ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'];

/** What axe-core finds on a page, one line a finding; of the colours alone where asked. */
async function findings(page, colorsAlone) {
  const found = await page.evaluate(
    ([rules, alone]) =>
      globalThis.axe.run(document, {
        resultTypes: ['violations'],
        ...(alone
          ? { runOnly: { type: 'rule', values: ['color-contrast'] } }
          : { runOnly: rules, rules: { 'target-size': { enabled: true } } }),
      }),
    [RULES, colorsAlone],
  );
  return found.violations.flatMap((rule) =>
    rule.nodes.map((node) =>
      `${rule.impact} ${rule.id}: ${node.target.join(' ')}: ${node.failureSummary?.split('\n').slice(1).join(' ')}`,
    ),
  );
}

ofEveryPage('every page can be read by everybody', (holds) => {
  it('in every role, in light and in dark', async () => {
    const source = await axeSource();
    // The animations of a change of colours would be measured half way.
    const options = { reducedMotion: 'reduce', colorScheme: 'light' };
    await holds(options, async (page) => {
      await page.emulateMedia({ colorScheme: 'light' });
      await page.evaluate(source);
      const light = await findings(page, false);
      // The structure is the same in the dark; only the colours are others.
      await page.emulateMedia({ colorScheme: 'dark' });
      const dark = await findings(page, true);
      return [...light, ...dark.map((line) => `in the dark: ${line}`)];
    });
  });
});

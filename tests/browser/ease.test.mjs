// Fingers in gloves, eyes that tire of movement, and ears: how large what is pressed is, that nothing
// moves by itself where that was asked for, and that every drawing has a name and its figures in words.
// Colours and structure are judged in access.test.mjs, widths in widths.test.mjs.

import assert from 'node:assert/strict';
import { it } from 'node:test';

import { ofEveryPage } from './pages.mjs';

/** Gloves: what is pressed at the bench is at least so many CSS pixels high. common practice, no source */
const GLOVE = 48;
/** WCAG 2.2, 2.5.8 Target Size (Minimum). */
const FINGER = 24;

/** Controls of the page's content lower than allowed; runs in the page. */
function small(least) {
  const found = [];
  for (const one of document.querySelectorAll('main a[href], main button, main input:not([type=hidden]), main select, main textarea, main summary')) {
    const target = one.matches('input[type=checkbox], input[type=radio]') ? (one.closest('label') ?? one) : one;
    const box = target.getBoundingClientRect();
    if (box.width === 0 || one.closest('.hidden')) continue;
    // A link inside a sentence is as high as its line; 2.5.8 excepts it.
    const inline = one.matches('a') && getComputedStyle(one).display === 'inline';
    if (!inline && (box.height < least - 0.5 || box.width < Math.min(least, 24) - 0.5)) {
      found.push(`${Math.round(box.width)} by ${Math.round(box.height)}: ${one.tagName} “${(one.innerText || one.name || '').slice(0, 40)}”`);
    }
  }
  return found;
}

/** Rows whose cells do not begin on one line, because a link in one of them is as high as a finger; runs in the page. */
function crooked() {
  const found = [];
  for (const row of document.querySelectorAll('.under-way tbody tr')) {
    const lines = [];
    for (const cell of row.children) {
      const texts = document.createTreeWalker(cell, NodeFilter.SHOW_TEXT);
      let text = texts.nextNode();
      while (text && !text.textContent.trim()) text = texts.nextNode();
      const words = document.createRange();
      if (text) words.selectNodeContents(text);
      if (text && words.getClientRects().length) lines.push(words.getClientRects()[0].bottom);
    }
    if (Math.max(...lines) - Math.min(...lines) > 3) found.push(`a row is crooked: ${lines.map(Math.round)} “${row.innerText.slice(0, 40)}”`);
  }
  return found;
}

/** What moves by itself, or slides where it should jump; runs in the page. */
function moves() {
  const found = document.getAnimations().map((one) => `moves: ${one.effect?.target?.className}`);
  for (const one of document.querySelectorAll('*')) {
    const style = getComputedStyle(one);
    if (style.scrollBehavior === 'smooth') found.push(`slides: ${one.tagName}`);
    const long = [...style.transitionDuration.split(','), ...style.animationDuration.split(',')];
    if (long.some((time) => parseFloat(time) > 0)) found.push(`would move: ${one.tagName}.${one.className}`);
  }
  return [...new Set(found)];
}

/** Drawings without a name, and charts without their figures; runs in the page. */
function silent() {
  const found = [];
  const CHARTS = '.bars, .stock-chart, .life-plot, .hold-chart, .face-map > svg';
  for (const svg of document.querySelectorAll('svg')) {
    if (svg.closest('[aria-hidden=true]') || svg.parentElement.closest('svg')) continue;
    const named = (svg.getAttribute('aria-labelledby') ?? '').split(' ').filter(Boolean);
    const words = svg.getAttribute('aria-label') || named.map((id) => document.getElementById(id)?.textContent ?? '').join(' ');
    if (svg.getAttribute('role') !== 'img' || words.trim().length < 3) found.push(`a drawing without a name: ${svg.classList}`);
    if (!svg.matches(CHARTS)) continue;
    // Its figures stand in its own section, or after it and before the next heading.
    const after = (one, other) => Boolean(one.compareDocumentPosition(other) & Node.DOCUMENT_POSITION_FOLLOWING);
    const next = [...document.querySelectorAll('main h2')].find((heading) => after(svg, heading));
    const tables = [...document.querySelectorAll('main table')].filter((table) => after(svg, table) && !(next && after(next, table)));
    if (tables.length === 0 && !svg.closest('section, article, figure')?.querySelector('table')) {
      found.push(`a chart without a table of its figures: ${svg.classList} ${svg.parentElement.className}`);
    }
  }
  return found;
}

ofEveryPage('hands, eyes and ears', (holds) => {
  it('controls are large enough, nothing moves unasked, every drawing speaks', async () => {
    const drawn = new Set();
    const options = { reducedMotion: 'reduce', viewport: { width: 820, height: 1180 } };
    await holds(options, async (page, { route }) => {
      const least = route.startsWith('/bench/{tag}') ? GLOVE : FINGER;
      for (const name of await page.evaluate(() => [...document.querySelectorAll('main svg')].map((svg) => svg.classList[0] ?? svg.parentElement.className))) drawn.add(name);
      return [
        ...(await page.evaluate(small, least)),
        ...(await page.evaluate(moves)),
        ...(await page.evaluate(silent)),
        ...(await page.evaluate(crooked)),
      ];
    });
    for (const name of ['glass', 'stock-chart', 'life-plot', 'hold-chart']) assert.ok(drawn.has(name), `no ${name} was seen among ${[...drawn]}`);
  });
});

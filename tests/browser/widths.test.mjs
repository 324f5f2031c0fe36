// Every page of every role on a screen 320 CSS pixels wide (WCAG 2.2, 1.4.10 Reflow), and with letters
// of twice the size on a window that shows half as much (1.4.4 Resize Text): nothing runs out of the
// page sideways. Tables and drawings may slide inside a named region that the keyboard reaches.

import { it } from 'node:test';

import { ofEveryPage } from './pages.mjs';

/** What is cut off or sticks out on the page that is open, one line each; runs in the page. */
function sticksOut() {
  const found = [];
  const wide = document.documentElement.clientWidth;
  const name = (one) => {
    const words = (one.getAttribute('aria-label') ?? one.textContent).replace(/\s+/g, ' ').trim().slice(0, 40);
    return `${one.tagName.toLowerCase()}${one.id && `#${one.id}`}${[...one.classList].map((c) => `.${c}`).join('')} “${words}”`;
  };
  const slides = (one) => ['auto', 'scroll'].includes(getComputedStyle(one).overflowX);
  const within = (one) => {
    for (let up = one.parentElement; up && up !== document.body; up = up.parentElement) if (slides(up)) return up;
    return null;
  };
  if (document.documentElement.scrollWidth > wide) {
    found.push(`the page is ${document.documentElement.scrollWidth} wide, ${wide} are seen`);
    for (const one of document.body.querySelectorAll('*')) {
      const box = one.getBoundingClientRect();
      if (box.width > 1 && box.right > wide + 1 && !within(one) && !one.closest('svg svg, .hidden, .skip')) {
        found.push(`sticks out to ${Math.round(box.right)}: ${name(one)}`);
        if (found.length > 4) break;
      }
    }
  }
  for (const one of document.body.querySelectorAll('*')) {
    if (one.closest('svg') && one.tagName !== 'svg') continue;
    // What is typed slides in its field as the caret goes.
    if (one.matches('input, textarea, select')) continue;
    if (one.scrollWidth <= one.clientWidth + 1 || one.clientWidth === 0) continue;
    const style = getComputedStyle(one);
    if (slides(one)) {
      // The menu slides, and each of its links is reached by itself.
      if (one.closest('nav') && one.querySelector('a[href]')) continue;
      if (one.tabIndex < 0) found.push(`slides, but no key reaches it: ${name(one)}`);
      else if (!one.getAttribute('aria-label') && !one.getAttribute('aria-labelledby')) found.push(`slides without a name: ${name(one)}`);
    } else if (['hidden', 'clip'].includes(style.overflowX) && !one.matches('.hidden, svg') && style.position !== 'absolute') {
      found.push(`is cut off: ${name(one)}`);
    }
  }
  // A ledger is evidence: what a row says it says on every screen, without sliding.
  for (const ledger of document.querySelectorAll('.ledger')) {
    for (const cell of ledger.querySelectorAll('tbody :is(th, td, .under, .on-phone)')) {
      if (!['', '–'].includes(cell.textContent.trim()) && cell.getClientRects().length === 0) found.push(`is left out: ${name(cell)}`);
    }
    const around = ledger.closest('.scroll');
    if (around.scrollWidth > around.clientWidth + 1) found.push(`slides: ${name(ledger)}`);
  }
  // What lies above or left of the page cannot be slid to.
  for (const one of document.querySelectorAll('main a, main button, main input:not([type=hidden]), main select')) {
    const box = one.getBoundingClientRect();
    if (box.width > 0 && box.right <= 0) found.push(`lies left of the page: ${name(one)}`);
  }
  return found;
}

ofEveryPage('every page fits', (holds) => {
  it('a screen 320 wide, and letters of twice the size on 640', async () => {
    const narrow = { width: 320, height: 640 };
    const options = { reducedMotion: 'reduce', viewport: narrow };
    await holds(options, async (page) => {
      const small = await page.evaluate(sticksOut);
      await page.setViewportSize({ width: 640, height: 512 });
      // As a reader does who sets the letters of the browser to twice their size.
      await page.evaluate(() => {
        document.documentElement.style.fontSize = '200%';
        return new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
      });
      const large = await page.evaluate(sticksOut);
      await page.setViewportSize(narrow);
      return [...small.map((line) => `320 wide: ${line}`), ...large.map((line) => `letters twice the size: ${line}`)];
    });
  });
});

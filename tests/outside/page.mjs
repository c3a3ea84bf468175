// Opens pages that `landwaiter report` wrote in a real browser and looks for what must not be there: console messages,
// requests, a horizontal scroll, faint lettering, lettering that is cut off, and whatever axe-core finds.
//
//     node page.mjs MODULES PAGE...          MODULES holds node_modules with playwright-core and axe-core
//     SHOTS=DIR node page.mjs ...            also writes screenshots and prints, to be looked at
import { createRequire } from 'node:module';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join, resolve } from 'node:path';
import { pathToFileURL } from 'node:url';

const [modules, ...pages] = process.argv.slice(2);
const require = createRequire(resolve(modules, 'package.json'));
const { chromium } = require('playwright-core');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');
const browserPath = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(existsSync);

const faults = [];
const profile = mkdtempSync(join(tmpdir(), 'landwaiter-page-'));
const FLAGS = ['--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync'];
const browser = await chromium.launchPersistentContext(profile, { executablePath: browserPath, args: FLAGS });
let looked = 0;
for (const file of pages) {
  for (const width of [360, 768, 1280]) {
    for (const scheme of ['light', 'dark']) {
      const name = `${basename(file)} at ${width}, ${scheme}`;
      const page = await browser.newPage();
      await page.setViewportSize({ width, height: 900 });
      await page.emulateMedia({ colorScheme: scheme });
      page.on('console', (message) => faults.push(`${name}: console says ${message.text()}`));
      page.on('pageerror', (error) => faults.push(`${name}: ${error}`));
      page.on('dialog', async (dialog) => { faults.push(`${name}: a dialog opened`); await dialog.dismiss(); });
      const own = pathToFileURL(resolve(file)).href;
      page.on('request', (request) => {
        if (request.url() !== own && !request.url().startsWith('data:')) faults.push(`${name}: asks for ${request.url()}`);
      });
      await page.goto(own, { waitUntil: 'load' });
      if (process.env.SHOTS) await page.screenshot({ path: `${process.env.SHOTS}/${basename(file, '.html')}-${width}-${scheme}.png`, fullPage: true });
      await page.evaluate(() => document.querySelectorAll('details').forEach((fold) => { fold.open = true; }));
      const [wide, room] = await page.evaluate(() => [document.documentElement.scrollWidth, document.documentElement.clientWidth]);
      if (wide > room) faults.push(`${name}: ${wide} wide in ${room}`);
      const scripts = await page.evaluate(() => document.querySelectorAll('script[src], script:not(:last-child), iframe, object, embed, link[rel=stylesheet]').length);
      if (scripts) faults.push(`${name}: ${scripts} elements that a page of text has no need of`);
      await page.evaluate(axe);
      const found = await page.evaluate(() => axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'best-practice'] }));
      for (const one of found.violations) {
        faults.push(`${name}: ${one.id}: ${one.help}: ${one.nodes.slice(0, 3).map((n) => n.html.slice(0, 160)).join(' | ')}`);
      }
      // Lettering in the pictures, which axe does not look at: WCAG 2.2, 1.4.3, against the leaf they lie on.
      const faint = await page.evaluate(() => {
        const channel = (c) => { const s = c / 255; return s <= 0.04045 ? s / 12.92 : ((s + 0.055) / 1.055) ** 2.4; };
        const light = (rgb) => { const [r, g, b] = rgb.match(/[\d.]+/g).map(Number); return 0.2126 * channel(r) + 0.7152 * channel(g) + 0.0722 * channel(b); };
        const ratio = (a, b) => { const [x, y] = [light(a), light(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05); };
        const out = [];
        document.querySelectorAll('figure').forEach((figure) => {
          const ground = getComputedStyle(figure).backgroundColor;
          figure.querySelectorAll('svg text, svg rect, svg circle').forEach((shape) => {
            if (['band', 'paper'].some((c) => shape.classList.contains(c))) return;
            const got = ratio(getComputedStyle(shape).fill, ground);
            if (got < (shape.tagName === 'text' ? 4.5 : 3)) out.push(`${shape.outerHTML.slice(0, 90)} ${got.toFixed(2)}`);
          });
        });
        return [...new Set(out)].slice(0, 5);
      });
      faint.forEach((one) => faults.push(`${name}: too faint: ${one}`));
      const small = await page.evaluate(() => [...document.querySelectorAll('svg text')]
        .map((t) => Number(t.getAttribute('font-size')) * t.ownerSVGElement.getBoundingClientRect().width / t.ownerSVGElement.viewBox.baseVal.width)
        .filter((size) => size < 11).length);
      if (small) faults.push(`${name}: ${small} letterings in pictures are set smaller than 11 pixels`);
      // Nothing of a picture reaches over its edge, and no cell of a table over its own.
      const clipped = await page.evaluate(() => {
        const out = [];
        document.querySelectorAll('svg').forEach((svg) => {
          const { width, height } = svg.viewBox.baseVal;
          svg.querySelectorAll('text').forEach((text) => {
            const box = text.getBBox();
            if (box.x < -5 || box.y < -5 || box.x + box.width > width + 5 || box.y + box.height > height + 5) out.push(`in a picture: ${text.textContent}`);
          });
        });
        document.querySelectorAll('td, th, h1, h2, p, dd, dt, li').forEach((one) => {
          if (one.clientWidth && one.scrollWidth > one.clientWidth + 1 && getComputedStyle(one).display !== 'inline') out.push(`${one.tagName}: ${one.textContent.slice(0, 60)}`);
        });
        return [...new Set(out)].slice(0, 5);
      });
      clipped.forEach((one) => faults.push(`${name}: cut off: ${one}`));
      // Every bar and every mark can be come to with the keyboard, says what it is, and is then seen to be meant.
      const dumb = await page.evaluate(() => {
        const out = [];
        document.querySelectorAll('svg rect[class^="c-"], svg circle[class^="c-"]').forEach((shape) => {
          const group = shape.parentElement;
          const said = group.querySelector('title')?.textContent ?? '';
          const own = group.closest('figure, .range')?.querySelector('h2')?.textContent ?? 'the range';
          if (shape.closest('.key')) return;
          if (group.tagName !== 'g') { if (!/price|on top/.test(shape.nextElementSibling?.textContent ?? '')) out.push(`${own}: a bar without words`); return; }
          if (!said || group.getAttribute('aria-label') !== said || group.tabIndex !== 0) out.push(`${own}: ${said || 'a mark without words'}`);
        });
        return [...new Set(out)].slice(0, 5);
      });
      dumb.forEach((one) => faults.push(`${name}: not told to the keyboard: ${one}`));
      const seen = await page.evaluate(() => {
        const first = document.querySelector('figure svg g[tabindex]');
        if (!first) return true;
        const button = document.querySelector('button, summary');
        const line = () => getComputedStyle(first.querySelector('rect, circle')).strokeWidth;
        const before = line();
        button?.focus();
        first.focus({ focusVisible: true });
        return line() !== before;
      });
      if (!seen) faults.push(`${name}: what the keyboard comes to in a picture looks as before`);
      // In the pictures no letters lie on other letters, nor on a bar.
      const lying = await page.evaluate(() => {
        const out = [];
        const inside = ({ x, y, width, height }) => ({ x: x + 2, y: y + height * 0.25, right: x + width - 2, bottom: y + height * 0.75 });
        const meet = (a, b) => a.x < b.right && b.x < a.right && a.y < b.bottom && b.y < a.bottom;
        document.querySelectorAll('svg').forEach((svg) => {
          const texts = [...svg.querySelectorAll('text')].map((text) => [text.textContent, inside(text.getBoundingClientRect())]);
          const bars = [...svg.querySelectorAll('rect[class^="c-"]')].map((bar) => bar.getBoundingClientRect());
          texts.forEach(([words, own], at) => {
            texts.slice(at + 1).forEach(([other, place]) => { if (meet(own, place)) out.push(`${words} on ${other}`); });
            bars.forEach((bar) => { if (meet(own, { x: bar.x, y: bar.y, right: bar.right, bottom: bar.bottom })) out.push(`${words} on a bar`); });
          });
        });
        return [...new Set(out)].slice(0, 5);
      });
      lying.forEach((one) => faults.push(`${name}: letters lie on something: ${one}`));
      // The name of a mark is nearer to it than to any other, or a line leads to it.
      const astray = await page.evaluate(() => {
        const out = [];
        document.querySelectorAll('#price-mass svg, #upgrades svg').forEach((svg) => {
          const marks = [...svg.querySelectorAll('g[tabindex]')].map((g) => [g.getAttribute('aria-label'), g.querySelector('rect, circle').getBoundingClientRect()]);
          const ends = [...svg.querySelectorAll('line.leader')].map((line) => line.getBoundingClientRect());
          const far = (box, mark) => Math.hypot(
            Math.max(box.x - (mark.x + mark.width / 2), mark.x + mark.width / 2 - box.right, 0), Math.max(box.y - (mark.y + mark.height / 2), mark.y + mark.height / 2 - box.bottom, 0));
          svg.querySelectorAll('text').forEach((text) => {
            const own = marks.find(([said]) => said.startsWith(text.textContent));
            if (!own || !text.textContent) return;
            const box = text.getBoundingClientRect();
            const near = marks.every((other) => other === own || far(box, other[1]) >= far(box, own[1]));
            const led = ends.some((end) => end.x < box.right + 6 && end.right > box.x - 6 && end.y < box.bottom + 6 && end.bottom > box.y - 6);
            if (!near && !led) out.push(text.textContent);
          });
        });
        return out.slice(0, 5);
      });
      astray.forEach((one) => faults.push(`${name}: read as another mark's name: ${one}`));
      // A table is put in order, and the switch goes both ways.
      const moved = await page.evaluate(() => {
        const out = [];
        const head = document.querySelector('table.parts thead th:nth-child(3) button');
        if (head) {
          head.click();
          const body = document.querySelector('table.parts tbody');
          const sums = [...body.querySelectorAll('.sum')].map((cell) => Number(cell.textContent.replace(/,/g, '')));
          if (sums.some((sum, at) => at && sum > sums[at - 1])) out.push('the parts are not in order');
        }
        const button = document.getElementById('otherwise');
        if (button) {
          const big = () => document.querySelector('h1 .big').textContent;
          const before = big();
          button.click();
          if (big() === before) out.push('the switch changes nothing');
          button.click();
          if (big() !== before) out.push('the switch does not go back');
        }
        return out;
      });
      moved.forEach((one) => faults.push(`${name}: ${one}`));
      if (/hostile/.test(name)) {
        const words = await page.evaluate(() => document.body.textContent);
        ['<script>console.log(1)</script>', '=cmd()|1!A1', '<b>Taolin</b>'].filter((one) => !words.includes(one))
          .forEach((one) => faults.push(`${name}: ${one} is not there as text`));
      }
      if (/large/.test(name)) {
        const rows = await page.evaluate(() => [...document.querySelectorAll('td')].filter((cell) => /^Part \d+ of a long list$/.test(cell.textContent.trim())
          && cell.getBoundingClientRect().width > 60).length);
        if (rows < 500) faults.push(`${name}: ${rows} of 500 parts stand in a table, wide enough to be read`);
      }
      looked += 1;
      await page.close();
    }
  }
}
// Printed, the verdict and the pictures take two pages of A4; tables follow on.
const leaves = [];
for (const file of pages) {
  const page = await browser.newPage();
  await page.goto(pathToFileURL(resolve(file)).href, { waitUntil: 'load' });
  if (process.env.SHOTS) await page.pdf({ path: `${process.env.SHOTS}/${basename(file, '.html')}.pdf`, preferCSSPageSize: true });
  await page.addStyleTag({ content: 'main > *:not(.verdict):not(.pictures) { display: none !important }' });
  const print = (await page.pdf({ preferCSSPageSize: true })).toString('latin1');
  const count = (print.match(/\/Type\s*\/Page\b/g) || []).length;
  if (count < 1 || count > 2) faults.push(`${basename(file)}: the verdict and the pictures take ${count} pages of paper`);
  leaves.push(count);
  await page.close();
}
await browser.close();
rmSync(profile, { recursive: true, force: true });
if (faults.length) {
  console.error(faults.join('\n'));
  process.exit(1);
}
console.log(`${pages.length} pages, looked at ${looked} times: no message, no request, no scroll sideways, nothing faint, nothing cut off, no letters on others or on a bar, no mark without words, no name at another mark, nothing that axe-core finds; printed on ${leaves.join(', ')} leaves before the tables`);

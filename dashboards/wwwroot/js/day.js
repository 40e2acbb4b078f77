// Pages with a day's curve: draws it, reads a touched moment out, and keeps today's fresh.
import { startAlerts } from './alerts.js';
import { Card } from './card.js';
import { option, readout } from './chart.js';
import { LiveLine } from './live-line.js';
import { pageIsKept, pageReceived, receivedNow, secondsSince } from './received.js';

const freshEvery = 30_000;
const patience = 10_000;

class Curve {
  constructor(section, received) {
    this.section = section;
    this.element = section.querySelector('.chart');
    this.readout = section.querySelector('[data-part="readout"]');
    this.take(section, received);
    if (!window.echarts) {
      this.readout.textContent = 'The curve could not be loaded; the table below has its numbers.';
      this.element.remove();
      return;
    }
    this.chart = window.echarts.init(this.element, null, { renderer: 'svg' });
    this.chart.on('updateAxisPointer', ({ axesInfo }) => {
      if (axesInfo[0]) this.readout.textContent = readout(this.day, axesInfo[0].value, this.unit);
    });
    new ResizeObserver(() => this.draw(true)).observe(this.element);
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.draw());
  }

  take(section, received) {
    const block = name => JSON.parse(section.querySelector(`[data-block="${name}"]`).textContent);
    this.day = block('day');
    this.now = Date.parse(block('now'));
    this.received = received;
    this.unit = section.dataset.unit;
  }

  draw(resized = false) {
    if (resized) this.chart?.resize();
    const since = secondsSince(this.received);
    this.chart?.setOption(option(this.day, this.now + (Number.isNaN(since) ? 0 : since * 1000), this.element, this.unit), true);
  }
}

const received = pageReceived();
const curves = [...document.querySelectorAll('[data-day]')].map(section => new Curve(section, received));
const fresh = document.getElementById('fresh');
const line = document.getElementById('live') && new LiveLine();
const cardElement = fresh?.querySelector('.card');
const card = cardElement && new Card(cardElement, received);
const state = { live: false, tried: false };
let heard = curves[0] && { received, now: curves[0].now, zone: curves[0].day.timeZoneId };

function draw() {
  card?.draw(card.received);
  if (fresh?.dataset.live || pageIsKept()) line?.draw(state, heard);
  document.documentElement.dataset.ready = '';
}

// The server writes the words; the new page's parts take the place of the old ones, the controls stay where they are.
async function refresh() {
  try {
    const answer = await fetch(location.href, { cache: 'no-store', signal: AbortSignal.timeout(patience) });
    if (!answer.ok) throw new Error(`the page answered ${answer.status}`);
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const section = page.querySelector('[data-day]');
    for (const part of ['.summary', '.strip', 'tbody']) curves[0].section.querySelector(part).replaceWith(section.querySelector(part));
    const now = receivedNow();
    curves[0].take(section, now);
    curves[0].draw();
    const spot = page.querySelector('#fresh .card [data-block="spot"]');
    if (card && spot) card.update(JSON.parse(spot.textContent), now);
    heard = { received: now, now: curves[0].now, zone: curves[0].day.timeZoneId };
    state.live = true;
  } catch {
    state.live = false;
  }
  state.tried = true;
  draw();
}

if (fresh?.dataset.live) {
  const ask = () => document.visibilityState === 'visible' && refresh();
  setInterval(ask, freshEvery);
  addEventListener('online', ask);
  addEventListener('offline', () => {
    state.live = false;
    state.tried = true;
    draw();
  });
  document.addEventListener('visibilitychange', ask);
  if (pageIsKept()) ask();
  setInterval(draw, 5_000);
  // What the server wrote a moment ago is as fresh as can be.
  state.live = state.tried = !pageIsKept();
}
draw();
startAlerts();

// The walker's page: cards kept current, sorted, and honest about what is no longer known.
import { startAlerts } from './alerts.js';
import { Card } from './card.js';
import { Feed } from './feed.js';
import { keepSpots, keptSpots } from './kept.js';
import { LiveLine } from './live-line.js';
import { askPosition, metersBetween } from './position.js';
import { pageIsKept, pageReceived, receivedAt, receivedNow } from './received.js';
import { Remedy } from './remedy.js';
import { far } from './text.js';

const list = document.getElementById('cards');
const line = new LiveLine();
const cards = new Map();
let heard = null;
let position = null;
let keptWhen = -Infinity;

const ranks = { burnsInSeconds: 7, tooHot: 6, bitter: 5, freezing: 4, unknown: 3, warm: 2, cold: 1, comfortable: 0 };
const cold = new Set(['bitter', 'freezing', 'cold']);
const gravity = ({ spot }) => {
  const [end, sign] = cold.has(spot.word) ? [spot.lowerCelsius, -1] : [spot.upperCelsius, 1];
  const celsius = spot.estimated ? end ?? spot.surfaceCelsius : spot.surfaceCelsius;
  return [ranks[spot.word === 'cold' && spot.mayBeIcy ? 'freezing' : spot.word], celsius === null ? -Infinity : sign * celsius];
};

function sort() {
  const sorted = [...cards.values()].sort(position
    ? (a, b) => distance(a) - distance(b)
    : (a, b) => gravity(b)[0] - gravity(a)[0] || gravity(b)[1] - gravity(a)[1] || (a.spot.name < b.spot.name ? -1 : 1));
  if (sorted.some((card, i) => list.children[i] !== card.element.parentElement)) {
    list.append(...sorted.map(card => card.element.parentElement));
  }
}

const distance = ({ spot }) =>
  metersBetween(position, { latitude: spot.latitudeDegrees, longitude: spot.longitudeDegrees });

function draw() {
  for (const card of cards.values()) {
    card.draw(heard?.confirmed);
    card.part('far').textContent = position ? ` · ${far(distance(card))} away` : '';
  }
  line.draw(feed, heard);
  document.documentElement.dataset.ready = '';
}

// What the newest of some spots says about when it was true.
function hear(spots, received, confirmed) {
  const newest = spots.reduce((a, b) => (!a || Date.parse(b.now) > Date.parse(a.now) ? b : a), null);
  if (newest) heard = { received, confirmed, now: newest.now, zone: newest.timeZoneId };
}

function take(spots, whole) {
  const received = receivedNow();
  if (spots.some(spot => !cards.has(spot.id)) && reloadOnce()) return;
  for (const spot of spots) cards.get(spot.id)?.update(spot, received);
  if (whole) {
    const ids = new Set(spots.map(spot => spot.id));
    for (const [id, card] of cards) {
      if (!ids.has(id)) {
        card.element.parentElement.remove();
        cards.delete(id);
      }
    }
  }
  hear(spots, received, received);
  keep();
  draw();
}

// A new spot has no card yet. Once a minute at most: behind a slow network the reload may bring the old page again.
function reloadOnce() {
  const last = Number(sessionStorage.getItem('pavement.reloaded'));
  if (Date.now() - last < 60_000) return false;
  sessionStorage.setItem('pavement.reloaded', String(Date.now()));
  location.reload();
  return true;
}

function keep(at = performance.now()) {
  if (at - keptWhen < 10_000) return;
  keptWhen = at;
  keepSpots([...cards.values()].map(card => card.spotAsOfNow()));
}

async function nearest(button) {
  const said = document.getElementById('nearest-said');
  if (position) {
    position = null;
    said.textContent = 'Sorted by heat again.';
  } else {
    said.textContent = 'Asking the phone …';
    try {
      position = await askPosition();
      said.textContent = 'Nearest first.';
    } catch (error) {
      if (!(error instanceof Remedy)) throw error;
      said.textContent = error.message;
    }
  }
  button.setAttribute('aria-pressed', String(position !== null));
  sort();
  draw();
}

const feed = new Feed({ onSpots: take, onState: draw });

if (list) {
  const received = pageReceived();
  for (const element of list.querySelectorAll('.card')) cards.set(element.dataset.spot, new Card(element, received));
  const kept = pageIsKept() ? keptSpots() : null;
  if (kept?.at > received.wall) {
    for (const spot of kept.spots) cards.get(spot.id)?.update(spot, receivedAt(kept.at));
    hear(kept.spots, receivedAt(kept.at), null);
  } else {
    hear([...cards.values()].map(card => card.spot), received, null);
  }
  document.getElementById('nearest').addEventListener('click', event => nearest(event.currentTarget));
  // Cards move only while nobody looks: a thumb on its way down must meet what the eye saw.
  document.addEventListener('visibilitychange', () => document.visibilityState === 'hidden' && sort());
  sort();
  if (pageIsKept()) draw();
  setInterval(draw, 5_000);
  startAlerts();
}
feed.start();

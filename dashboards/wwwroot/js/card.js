// One spot's card: what the server wrote into the page, rewritten from live events and with the passing of time.
import { secondsSince } from './received.js';
import { ago, clock } from './text.js';

// Three intervals without news: from here the card says what was, no longer what is.
const oldAfterSeconds = 180;

export class Card {
  constructor(element, received) {
    this.element = element;
    this.update(JSON.parse(element.querySelector('[data-block="spot"]').textContent), received);
  }

  update(spot, received) {
    this.spot = spot;
    this.received = received;
  }

  part(name) {
    return this.element.querySelector(`[data-part="${name}"]`);
  }

  // `confirmed`: when the server last stood by what we hold (it tells every change); null when it has not yet.
  draw(confirmed) {
    const spot = this.spot;
    const silence = secondsSince(confirmed ?? this.received);
    const old = !(silence <= oldAfterSeconds);
    const warns = ['tooHot', 'burnsInSeconds', 'freezing', 'bitter'].includes(spot.word) || (spot.word === 'cold' && spot.mayBeIcy);
    const word = old && !warns ? 'unknown' : spot.word;

    this.element.dataset.word = word;
    this.element.toggleAttribute('data-old', old);
    this.element.toggleAttribute('data-estimated', spot.estimated && !old);
    this.element.dataset.state = spot.state;
    this.part('mark').setAttribute('href', `#mark-${word}`);
    put(this.part('word'), old && !warns ? 'unknown' : spot.texts.word);
    put(this.part('touch'), old ? this.wasText(silence) : spot.texts.touch);
    put(this.part('degrees'), spot.texts.degrees);
    put(this.part('age'), this.ageText());
    put(this.part('badge'), old && warns ? 'last known' : spot.estimated && !old ? 'estimated' : '', true);
    put(this.part('range'), spot.texts.range, true);
    // Kept from before the server said it, it has none.
    put(this.part('doubt'), old ? '' : spot.texts.doubt ?? '', true);
    put(this.part('because'), old ? '' : spot.because, true);
  }

  wasText(silence) {
    const at = Date.parse(this.spotAsOfNow().now) - silence * 1000;
    const when = Number.isNaN(at) ? 'at an unknown time' : `at ${clock(at, this.spot.timeZoneId)}, ${ago(silence)}`;
    return `last known ${when}: ${this.spot.texts.word}. Nobody knows now: use your palm`;
  }

  // The same state, its clock and age carried on to this moment.
  spotAsOfNow() {
    const { now, ageSeconds } = this.spot;
    const since = secondsSince(this.received);
    if (Number.isNaN(since)) return { ...this.spot, now: null };
    return {
      ...this.spot,
      now: new Date(Date.parse(now) + since * 1000).toISOString(),
      ageSeconds: ageSeconds === null ? null : ageSeconds + since,
    };
  }

  ageText() {
    const { ageSeconds, estimated, surfaceCelsius } = this.spot;
    if (ageSeconds === null) return 'never measured';
    const words = ago(ageSeconds + secondsSince(this.received));
    return estimated || surfaceCelsius === null ? `last measured ${words}` : `measured ${words}`;
  }
}

// Only what changed is written, so a screen reader and the browser's layout stay quiet.
function put(part, text, hideEmpty = false) {
  if (part.textContent !== text) part.textContent = text;
  if (hideEmpty) show(part, text !== '');
}

function show(part, visible) {
  if (part.hidden === visible) part.hidden = !visible;
}

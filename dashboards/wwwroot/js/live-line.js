// The line that says whether the page is live, and if not, from when it is.
import { pageIsKept, secondsSince } from './received.js';
import { ago, clock } from './text.js';

export class LiveLine {
  constructor() {
    this.line = document.getElementById('live');
    this.text = this.line.querySelector('[data-part="live"]');
    this.said = document.getElementById('live-said');
  }

  // `feed` knows whether it is live and whether it has been tried; `heard` is { received, now, zone } of the newest
  // state we hold, or null.
  draw({ live, tried }, heard) {
    if (!live && !tried && !pageIsKept()) return;
    const state = live ? 'live' : 'offline';
    const text = live ? 'Live' : `Offline, ${lastKnown(heard)}`;
    if (this.text.textContent !== text) this.text.textContent = text;
    if (this.line.dataset.live === state) return;
    const first = this.line.dataset.live === 'page';
    this.line.dataset.live = state;
    // Announced when it changes, not with every minute of its age.
    if (!first || !live) this.said.textContent = live ? 'Live again' : text;
  }
}

function lastKnown(heard) {
  if (!heard) return 'nothing known yet';
  const since = secondsSince(heard.received);
  return Number.isNaN(since)
    ? 'last known at an unknown time (this phone’s clock was changed)'
    : `last known at ${clock(heard.now, heard.zone)} (${ago(since)})`;
}

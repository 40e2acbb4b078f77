// Spots as they change: server-sent events, and where those fail or fall silent, plain requests.

const silentAfter = 45_000;
const patience = 10_000;

export class Feed {
  // onSpots(list, whole): news of some spots, or of all of them. onState(): live or not has changed.
  constructor({ onSpots, onState }) {
    this.onSpots = onSpots;
    this.onState = onState;
    this.live = false;
    this.tried = false;
    this.heardAt = -Infinity;
    this.pause = 2_000;
    this.resting = false;
  }

  start() {
    this.connect();
    setInterval(() => this.check(), 5_000);
    addEventListener('online', () => this.connect());
    addEventListener('offline', () => this.lost());
    addEventListener('pagehide', () => this.close());
    addEventListener('pageshow', event => event.persisted && this.connect());
    document.addEventListener('visibilitychange', () => this.seen());
  }

  // The page somebody looks at gets the stream.
  seen() {
    if (document.visibilityState !== 'visible') return;
    this.resting = false;
    this.ask();
  }

  connect() {
    this.close();
    const source = this.source = new EventSource('/api/live');
    source.addEventListener('snapshot', event => this.heard(JSON.parse(event.data), true));
    source.addEventListener('spot', event => this.heard([JSON.parse(event.data)], false));
    // This person has newer streams; coming back at once would push one of those out in turn. Until looked at again, plain requests do.
    source.addEventListener('elsewhere', () => {
      this.resting = true;
      this.close();
    });
    source.onerror = () => {
      if (this.source !== source) return;
      this.lost();
      // The browser tries again by itself after a break, but not after a refusal.
      if (source.readyState === EventSource.CLOSED) this.later();
    };
  }

  close() {
    clearTimeout(this.timer);
    this.source?.close();
    this.source = null;
  }

  later() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.connect(), this.pause);
    this.pause = Math.min(this.pause * 2, 60_000);
  }

  heard(spots, whole) {
    this.heardAt = performance.now();
    this.pause = 2_000;
    this.onSpots(spots, whole);
    this.set(true);
  }

  lost() {
    this.set(false);
  }

  set(live) {
    if (this.tried && this.live === live) return;
    this.tried = true;
    this.live = live;
    this.onState();
  }

  // A dead connection can look open for many minutes; one that has been quiet is put to the question.
  check() {
    if (document.visibilityState === 'visible' && performance.now() - this.heardAt > silentAfter) this.ask();
  }

  async ask() {
    if (this.asking) return;
    this.asking = true;
    try {
      const answer = await fetch('/api/spots', { cache: 'no-store', signal: AbortSignal.timeout(patience) });
      if (!answer.ok) throw new Error(`/api/spots answered ${answer.status}`);
      this.heard(await answer.json(), true);
      if (!this.resting && (!this.source || this.source.readyState === EventSource.CLOSED)) this.connect();
    } catch {
      this.lost();
      this.close();
      this.later();
    } finally {
      this.asking = false;
    }
  }
}

// When something reached this phone, and how long ago that is. A phone's wall clock may be wrong, but it is wrong by
// the same amount then and now; a steady clock may stand still while the phone sleeps. The larger answer is the careful one.

export const receivedNow = () => ({ wall: Date.now(), steady: performance.now() });

// Something out of the phone's memory: only the wall clock remembers.
export const receivedAt = wall => ({ wall, steady: null });

// Seconds; NaN when the clock was set back and nobody can say.
export function secondsSince(moment) {
  const byWall = Date.now() - moment.wall;
  if (moment.steady === null) return byWall < 0 ? NaN : byWall / 1000;
  return Math.max(byWall, performance.now() - moment.steady, 0) / 1000;
}

// When this very page reached the phone: just now, or earlier when the service worker took it out of memory.
export function pageReceived() {
  const kept = Number(document.documentElement.dataset.keptAt);
  return kept > 0 ? receivedAt(kept) : receivedNow();
}

export const pageIsKept = () => document.documentElement.dataset.keptAt !== undefined;

// What this phone keeps: which spots to be alerted about (the service worker reads it too), and the last known state.

const cacheName = 'pavement-kept';
const alertsPath = '/kept/alerts';
const spotsKey = 'pavement.spots';

export async function keptAlerts() {
  const kept = await (await caches.open(cacheName)).match(alertsPath);
  return kept ? kept.json() : [];
}

export async function keepAlerts(spots) {
  const cache = await caches.open(cacheName);
  await cache.put(alertsPath, Response.json(spots));
}

// { at: wall clock of this phone, spots: [...] } or null. Storage may be full or forbidden; then nothing is kept.
export function keptSpots() {
  try {
    return JSON.parse(localStorage.getItem(spotsKey));
  } catch {
    return null;
  }
}

export function keepSpots(spots) {
  try {
    localStorage.setItem(spotsKey, JSON.stringify({ at: Date.now(), spots }));
  } catch {
    // Nothing to do: the page that the service worker keeps is the fallback.
  }
}

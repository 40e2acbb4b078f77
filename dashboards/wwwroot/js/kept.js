// What this phone keeps: which spots it follows, and the last known state.

const alertsKey = 'pavement.alerts';
const spotsKey = 'pavement.spots';

export const keptAlerts = () => read(alertsKey) ?? [];
export const keepAlerts = spots => write(alertsKey, spots);

// { at: wall clock of this phone, spots: [...] } or null.
export const keptSpots = () => read(spotsKey);
export const keepSpots = spots => write(spotsKey, { at: Date.now(), spots });

const phoneCache = 'pavement-phone';

// { endpoint, spots }: the address of this phone at its push service and what it follows, or null where alerts are not on. In a
// cache, as the service worker has no other memory: its browser may give the phone another address while no page is open.
export async function keptPhone() {
  try {
    // Looked for in one that is there: opening it would make it.
    return await (await caches.match('/phone', { cacheName: phoneCache }))?.json() ?? null;
  } catch {
    return null;
  }
}

export async function keepPhone(phone) {
  try {
    if (phone === null) await caches.delete(phoneCache);
    else await (await caches.open(phoneCache)).put('/phone', new Response(JSON.stringify(phone)));
  } catch {
    // See below.
  }
}

// Storage may be full or forbidden; then nothing is kept, and the page the service worker keeps is the fallback.
function read(key) {
  try {
    return JSON.parse(localStorage.getItem(key));
  } catch {
    return null;
  }
}

function write(key, value) {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // See above.
  }
}

// What this phone keeps: which spots it follows, and the last known state.

const alertsKey = 'pavement.alerts';
const spotsKey = 'pavement.spots';

export const keptAlerts = () => read(alertsKey) ?? [];
export const keepAlerts = spots => write(alertsKey, spots);

// { at: wall clock of this phone, spots: [...] } or null.
export const keptSpots = () => read(spotsKey);
export const keepSpots = spots => write(spotsKey, { at: Date.now(), spots });

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

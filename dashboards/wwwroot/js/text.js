// Words for ages and moments. Spans.Ago in Texts/Spans.cs says the same on the server.

export function ago(seconds) {
  if (Number.isNaN(seconds)) return 'at an unknown time';
  if (seconds < 10) return 'just now';
  if (seconds < 60) return `${Math.floor(seconds / 10) * 10} s ago`;
  if (seconds < 86400) return `${length(seconds)} ago`;
  if (seconds < 172800) return '1 day ago';
  return `${Math.floor(seconds / 86400)} days ago`;
}

export function length(seconds) {
  const minutes = Math.floor(seconds / 60);
  const [h, m] = [Math.floor(minutes / 60), minutes % 60];
  return h === 0 ? `${m} min` : m === 0 ? `${h} h` : `${h} h ${m} min`;
}

const formats = new Map();

function format(zone, options) {
  const key = zone + JSON.stringify(options);
  if (!formats.has(key)) {
    let timeZone = zone;
    try {
      new Intl.DateTimeFormat('en-GB', { timeZone });
    } catch {
      timeZone = 'UTC';
    }
    formats.set(key, new Intl.DateTimeFormat('en-GB', { ...options, timeZone }));
  }
  return formats.get(key);
}

// Time of day at the spot, e.g. 14:32.
export const clock = (at, zone) => format(zone, { hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(new Date(at));

export const fahrenheit = celsius => celsius * 9 / 5 + 32;

export const both = celsius => `${celsius.toFixed(1)} °C · ${Math.round(fahrenheit(celsius))} °F`;

export function far(meters) {
  const miles = (meters / 1609.344).toFixed(1);
  return meters < 1000 ? `${Math.round(meters / 10) * 10} m (${miles} mi)` : `${(meters / 1000).toFixed(1)} km (${miles} mi)`;
}

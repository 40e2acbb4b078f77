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

// A temperature for one person: in °C, in °F, or in both. Temperatures.Of in Texts/Temperatures.cs says the same on the server.
export const degrees = (celsius, unit) => inUnits(celsius.toFixed(1), Math.round(fahrenheit(celsius)), unit, beside);

// Two wordings of the same, with the unit that is wanted, or both of them together.
export function inUnits(celsius, inFahrenheit, unit, together = (c, f) => `${c} (${f})`) {
  const [c, f] = [`${celsius} °C`, `${inFahrenheit} °F`];
  return unit === 'celsius' ? c : unit === 'fahrenheit' ? f : together(c, f);
}

const beside = (c, f) => `${c} · ${f}`;

// The ground: on the side of its limit, of the burn threshold and of freezing on which it is. GroundTexts.Of says the same on the server.
export function ground(celsius, limitCelsius, unit) {
  const tenths = Math.round(celsius * 10);
  const isAt = (threshold, sign) => sign * celsius >= sign * threshold || sign * tenths >= sign * threshold * 10;
  const kept = (steps, shown) => [[limitCelsius, 1], [56, 1], [0, -1]].reduce((steps, [threshold, sign]) => {
    const edge = Math.ceil(sign * shown(threshold) - 1e-6);
    return sign * (isAt(threshold, sign) ? Math.max(sign * steps, edge) : Math.min(sign * steps, edge - 1));
  }, steps) + 0;
  const inCelsius = kept(tenths, threshold => Math.round(threshold * 10)) / 10;
  const inFahrenheit = kept(Math.round(fahrenheit(celsius)), threshold => Math.round(fahrenheit(threshold)));
  return inUnits(inCelsius.toFixed(1), inFahrenheit, unit, beside);
}

export function far(meters) {
  const miles = (meters / 1609.344).toFixed(1);
  return meters < 1000 ? `${Math.round(meters / 10) * 10} m (${miles} mi)` : `${(meters / 1000).toFixed(1)} km (${miles} mi)`;
}

// The phone's position, asked for only after a press, and what to do when it cannot be had.
import { Remedy } from './remedy.js';

const patience = 15_000;

export function askPosition() {
  if (!navigator.geolocation) throw new Remedy('This browser does not give positions. The list stays sorted by heat.');
  return new Promise((resolve, reject) => {
    // Some phones answer neither yes nor no; the browser's own limit starts only after the permission.
    const timer = setTimeout(() => reject(new Remedy('No position within 15 s. Step into the open and press again.')), patience);
    navigator.geolocation.getCurrentPosition(
      ({ coords }) => {
        clearTimeout(timer);
        resolve({ latitude: coords.latitude, longitude: coords.longitude });
      },
      error => {
        clearTimeout(timer);
        reject(new Remedy(error.code === error.PERMISSION_DENIED
          ? 'The position is blocked for this site. Allow it in the browser’s site settings, then press again.'
          : 'This phone cannot tell its position right now. Switch location on, or step into the open, then press again.'));
      },
      { maximumAge: 60_000, timeout: patience });
  });
}

// Great-circle distance on a sphere of 6371 km: within 0.6 % of the ellipsoid, plenty for sorting.
export function metersBetween(a, b) {
  const rad = Math.PI / 180;
  const dLat = (b.latitude - a.latitude) * rad;
  const dLon = (b.longitude - a.longitude) * rad;
  const h = Math.sin(dLat / 2) ** 2
    + Math.cos(a.latitude * rad) * Math.cos(b.latitude * rad) * Math.sin(dLon / 2) ** 2;
  return 2 * 6_371_000 * Math.asin(Math.min(1, Math.sqrt(h)));
}

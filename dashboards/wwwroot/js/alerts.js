// "Alert me": permission, subscription, and telling the server which spots.
import { keepAlerts, keptAlerts } from './kept.js';
import { askPosition } from './position.js';
import { Remedy, send, within } from './remedy.js';

const patience = 10_000;
const nearFor = 30 * 60_000;
const nearEvery = 5 * 60_000;
const nearKey = 'pavement.near';

const apple = /iPhone|iPad|iPod/.test(navigator.userAgent)
  || (/Macintosh/.test(navigator.userAgent) && navigator.maxTouchPoints > 1);

let wanted = new Set();
let nearTimer;

export async function startAlerts() {
  for (const button of document.querySelectorAll('button[data-alert]')) {
    button.hidden = false;
    button.addEventListener('click', () => press(button, () => toggleSpot(button)));
  }
  const near = document.getElementById('alert-near');
  near?.addEventListener('click', () => press(near, () => toggleNear(near)));
  document.getElementById('alerts-close').addEventListener('click', () => say(''));
  await restore(near);
}

async function toggleSpot(button) {
  const id = button.dataset.alert;
  const name = button.closest('.card').querySelector('.name').textContent;
  const next = new Set(wanted);
  if (!next.delete(id)) next.add(id);
  await tellServer(next);
  wanted = next;
  return next.has(id) ? `You will be told about ${name} on this phone.` : `No more alerts about ${name}.`;
}

async function toggleNear(button) {
  if (button.getAttribute('aria-pressed') === 'true') {
    stopNear();
    const registration = await navigator.serviceWorker.getRegistration();
    const subscription = await registration?.pushManager.getSubscription();
    await send('DELETE', '/api/position', subscription ? { endpoint: subscription.endpoint } : undefined);
    return 'Your position is forgotten.';
  }
  const subscription = await tellServer(wanted, true);
  await sendPosition(subscription.endpoint);
  startNear(subscription.endpoint);
  return 'You will be told about spots near where you are, for 30 minutes after this page last sent your position.';
}

async function sendPosition(endpoint) {
  const position = await askPosition();
  await send('POST', '/api/position', { ...position, endpoint });
  sessionStorage.setItem(nearKey, String(Date.now() + nearFor));
}

function startNear(endpoint) {
  clearInterval(nearTimer);
  nearTimer = setInterval(() => {
    if (document.visibilityState === 'visible') sendPosition(endpoint).catch(() => {});
    draw();
  }, nearEvery);
}

function stopNear() {
  clearInterval(nearTimer);
  sessionStorage.removeItem(nearKey);
}

const nearIsOn = () => Number(sessionStorage.getItem(nearKey)) > Date.now();

// Subscribes where needed and gives the server the whole list; the last spot taken off ends the subscription.
async function tellServer(spots, evenIfNone = false) {
  const registration = await workerRegistration();
  if (spots.size === 0 && !evenIfNone && !nearIsOn()) {
    const old = await registration.pushManager.getSubscription();
    if (old) {
      await send('DELETE', '/api/push/subscriptions', { endpoint: old.endpoint });
      await old.unsubscribe();
    }
    await keepAlerts([]);
    return null;
  }
  const subscription = await subscribe(registration);
  const { endpoint, keys } = subscription.toJSON();
  await send('POST', '/api/push/subscriptions', { endpoint, keys, spots: [...spots] });
  await keepAlerts([...spots]);
  return subscription;
}

async function workerRegistration() {
  if (!('serviceWorker' in navigator && 'PushManager' in window && 'Notification' in window)) {
    throw new Remedy(apple
      ? 'On an iPhone or iPad: press Share, then “Add to Home Screen”, open PavementWatch from there, and press again.'
      : 'This browser cannot receive alerts. Use a current Chrome, Edge, Firefox or Safari, not in private mode.');
  }
  if (await Notification.requestPermission() !== 'granted') {
    throw new Remedy('Notifications are blocked for this site. Allow them in the browser’s site settings, then press again.');
  }
  return within(navigator.serviceWorker.ready, patience,
    'The page is not ready for alerts yet. Reload it, then press again.');
}

async function subscribe(registration) {
  const { key } = await (await send('GET', '/api/push/key')).json();
  const bytes = fromBase64Url(key);
  const old = await registration.pushManager.getSubscription();
  if (old && sameKey(old, bytes)) return old;
  await old?.unsubscribe();
  try {
    // Without a connection to its push service a browser waits here for ever.
    return await within(
      registration.pushManager.subscribe({ userVisibleOnly: true, applicationServerKey: bytes }), patience,
      'The phone’s push service did not answer within 10 s. Check the connection (some guest networks block it), then press again.');
  } catch (error) {
    if (error instanceof Remedy) throw error;
    throw new Remedy(error.name === 'NotAllowedError'
      ? 'Notifications are blocked for this site. Allow them in the browser’s site settings, then press again.'
      : 'The phone’s push service refused. Leave private mode if it is on, check the connection, then press again.');
  }
}

function sameKey(subscription, bytes) {
  const key = subscription.options?.applicationServerKey;
  return !key || (key.byteLength === bytes.length && new Uint8Array(key).every((b, i) => b === bytes[i]));
}

function fromBase64Url(text) {
  const binary = atob(text.replaceAll('-', '+').replaceAll('_', '/'));
  return Uint8Array.from(binary, c => c.charCodeAt(0));
}

async function press(button, act) {
  if (button.getAttribute('aria-disabled') === 'true') return;
  button.setAttribute('aria-disabled', 'true');
  say('Asking the phone and the server …');
  try {
    say(await act());
  } catch (error) {
    say(error instanceof Remedy ? error.message : `That did not work (${error.message}). Reload the page, then press again.`);
  } finally {
    button.removeAttribute('aria-disabled');
    draw();
  }
}

function say(text) {
  document.getElementById('alerts-said').textContent = text;
  document.getElementById('alerts-close').hidden = text === '';
}

function draw() {
  for (const button of document.querySelectorAll('button[data-alert]')) {
    drawButton(button, wanted.has(button.dataset.alert), 'Alerts on', 'Alert me');
  }
  const near = document.getElementById('alert-near');
  if (near) drawButton(near, nearIsOn(), 'Alerts near me on', 'Alert me near where I am');
}

function drawButton(button, on, onText, offText) {
  button.setAttribute('aria-pressed', String(on));
  button.querySelector('[data-part="alert"]').textContent = on ? onText : offText;
}

// A phone may lose its subscription, a server its list: what is still wanted is said again on each visit.
async function restore(near) {
  try {
    if (!('Notification' in window) || Notification.permission !== 'granted') return;
    const registration = await navigator.serviceWorker.getRegistration();
    const subscription = await registration?.pushManager?.getSubscription();
    if (!subscription) return;
    wanted = new Set(await keptAlerts());
    if (near && nearIsOn()) startNear(subscription.endpoint);
    draw();
    if (wanted.size > 0) {
      const { endpoint, keys } = subscription.toJSON();
      await send('POST', '/api/push/subscriptions', { endpoint, keys, spots: [...wanted] });
    }
  } catch {
    // Offline or not supported; the press explains itself.
  }
}

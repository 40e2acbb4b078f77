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
let subscribed = false;
let nearTimer;

export async function startAlerts() {
  for (const button of document.querySelectorAll('button[data-alert]')) {
    button.hidden = false;
    button.addEventListener('click', () => press(button, () => toggleSpot(button)));
  }
  onPress('alert-here', toggleHere);
  onPress('alert-near', toggleNear);
  document.getElementById('alerts-close').addEventListener('click', () => say(''));
  await restore();
}

function onPress(id, act) {
  const button = document.getElementById(id);
  button?.addEventListener('click', () => press(button, act));
}

async function toggleSpot(button) {
  const id = button.dataset.alert;
  const name = button.closest('.card').querySelector('.name').textContent;
  const next = new Set(wanted);
  if (!next.delete(id)) next.add(id);
  await subscribe([...next]);
  return wanted.has(id) ? `You will be told about ${name} on this phone.` : `No more alerts about ${name}.`;
}

async function toggleHere() {
  if (!subscribed) {
    await subscribe();
    return 'Alerts are on: you will be told about the spots on your walks on this phone.';
  }
  const subscription = await (await navigator.serviceWorker.ready).pushManager.getSubscription();
  if (subscription) {
    await send('DELETE', '/api/push/subscriptions', { endpoint: subscription.endpoint }, [404]);
    await subscription.unsubscribe();
  }
  if (nearIsOn()) await forgetPosition();
  subscribed = false;
  wanted = new Set();
  keepAlerts([]);
  return 'No more alerts on this phone.';
}

async function toggleNear() {
  if (nearIsOn()) {
    await forgetPosition();
    return 'Your position is forgotten.';
  }
  await subscribe();
  await sharePosition();
  return 'You will be told about spots near where you are, for 30 minutes after this page last sent your position.';
}

async function sharePosition() {
  await send('POST', '/api/position', await askPosition());
  sessionStorage.setItem(nearKey, String(Date.now() + nearFor));
  clearInterval(nearTimer);
  nearTimer = setInterval(() => {
    if (document.visibilityState === 'visible') sharePosition().catch(() => {});
    draw();
  }, nearEvery);
}

async function forgetPosition() {
  clearInterval(nearTimer);
  sessionStorage.removeItem(nearKey);
  await send('DELETE', '/api/position');
}

const nearIsOn = () => Number(sessionStorage.getItem(nearKey)) > Date.now();

// Gives the server this phone's subscription, made where needed, and the spots to follow; without a list those stay, and a phone
// the server does not know any more follows those it has kept. What the server says it follows is what the page shows.
async function subscribe(spots) {
  const subscription = await phoneSubscription(await workerRegistration());
  const { endpoint, keys } = subscription.toJSON();
  const kept = spots ? undefined : [...keptAlerts()];
  const answer = await send('POST', '/api/push/subscriptions', { endpoint, keys, spots, kept });
  wanted = new Set((await answer.json()).spots);
  keepAlerts([...wanted]);
  subscribed = true;
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

async function phoneSubscription(registration) {
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
    button.setAttribute('aria-pressed', String(wanted.has(button.dataset.alert)));
  }
  document.getElementById('alert-here')?.setAttribute('aria-pressed', String(subscribed));
  document.getElementById('alert-near')?.setAttribute('aria-pressed', String(nearIsOn()));
}

// A phone may lose its subscription, a server its list: the phone shows itself again on each visit.
async function restore() {
  try {
    if (!('Notification' in window) || Notification.permission !== 'granted') return;
    const registration = await navigator.serviceWorker.getRegistration();
    if (!await registration?.pushManager?.getSubscription()) return;
    // Shown at once, offline too; the server's word follows.
    wanted = new Set(keptAlerts());
    subscribed = true;
    draw();
    await subscribe();
    draw();
    if (nearIsOn()) await sharePosition();
  } catch {
    // Offline or not supported; the press explains itself.
  }
}

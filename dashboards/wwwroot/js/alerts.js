// "Alert me": permission, subscription, and telling the server which spots.
import { keepAlerts, keepPhone, keptAlerts, keptPhone } from './kept.js';
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
  onPress('gone-forget', forgetGone);
  for (const button of document.querySelectorAll('button[data-alert-all]')) {
    button.addEventListener('click', () => press(button, () => followAll(button)));
  }
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
    return toldOf();
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
  await keepPhone(null);
  return 'No more alerts on this phone.';
}

// Alerts that are on and tell nothing must not look as if they told.
function toldOf() {
  const walks = document.getElementById('alerts')?.dataset.walks === 'yes' ? ['the spots on your walks'] : [];
  const followed = wanted.size === 0 ? [] : [wanted.size === 1 ? 'the spot you follow' : `the ${wanted.size} spots you follow`];
  const told = [...walks, ...followed];
  return told.length > 0
    ? `Alerts are on: you will be told about ${told.join(' and ')} on this phone.`
    : 'Alerts are on, but nothing will be told yet, as you have no walk and follow no spot. Press “Alert me” at the spots you want, or follow all of a site below.';
}

async function followAll(button) {
  await subscribe([...new Set([...wanted, ...button.dataset.alertAll.split(' ')])]);
  return toldOf();
}

async function forgetGone() {
  await send('DELETE', '/api/push/gone');
  document.getElementById('gone-phones')?.remove();
  return 'That phone is forgotten.';
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
// Returns whether it has another address than before.
async function subscribe(spots) {
  const before = (await keptPhone())?.endpoint;
  const registration = await workerRegistration();
  let subscription = await phoneSubscription(registration);
  if (await tell(subscription, spots)) {
    // Its push service has given this address up, and the browser does not know.
    await subscription.unsubscribe();
    subscribed = false;
    subscription = await phoneSubscription(registration);
    await tell(subscription, spots);
  }
  return before !== undefined && before !== subscription.endpoint;
}

async function tell(subscription, spots) {
  const { endpoint, keys } = subscription.toJSON();
  const phone = await keptPhone();
  const kept = spots ? undefined : [...new Set([...keptAlerts(), ...phone?.spots ?? []])];
  const replaces = phone && phone.endpoint !== endpoint ? phone.endpoint : undefined;
  const answer = await (await send('POST', '/api/push/subscriptions', { endpoint, keys, spots, kept, replaces })).json();
  wanted = new Set(answer.spots);
  keepAlerts([...wanted]);
  await keepPhone({ endpoint, spots: [...wanted] });
  subscribed = true;
  return answer.renew === true;
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
  const none = document.getElementById('alerts-none');
  if (none) none.hidden = wanted.size > 0;
  document.getElementById('alert-near')?.setAttribute('aria-pressed', String(nearIsOn()));
}

// A phone may lose its subscription, a server its list: the phone shows itself again on each visit, and asks for another where its browser has lost it.
async function restore() {
  if (!('Notification' in window && 'serviceWorker' in navigator)) return;
  let [on, lost] = [false, false];
  try {
    on = await keptPhone() !== null || keptAlerts().length > 0;
    const granted = Notification.permission === 'granted';
    const registration = granted ? await navigator.serviceWorker.getRegistration() : undefined;
    const subscription = await registration?.pushManager?.getSubscription();
    lost = on && !subscription;
    if (!lost && !subscription) return;
    if (lost && !granted) throw new Remedy('Notifications are blocked for this site. Allow them in the browser’s site settings, then press “Alerts on”.');
    if (!lost) {
      // Shown at once, offline too; the server's word follows.
      wanted = new Set(keptAlerts());
      subscribed = true;
      draw();
    }
    if (await subscribe() || lost) {
      say('This phone had lost its alerts. They are on again.');
      const gone = document.getElementById('gone-phones');
      if (gone?.dataset.phones === '1') gone.remove();
    }
    draw();
    if (nearIsOn()) await sharePosition();
  } catch (error) {
    draw();
    // Offline or not supported; the press explains itself. Who thinks to be told must hear that they are not.
    if (on && !subscribed) say(`No alerts come to this phone any more. ${error instanceof Remedy ? error.message : 'Press “Alerts on” to get them again.'}`);
  }
}

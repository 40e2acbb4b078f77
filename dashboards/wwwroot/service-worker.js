// Pages that open without a network, and alerts. Registered as /service-worker.js?v=<version of all assets>.

const version = new URL(location.href).searchParams.get('v') ?? '0';
const assets = `pavement-assets-${version}`;
const pages = `pavement-pages-${version}`;
const mostPages = 20;

// Names of alerts that were shown here: one that comes again makes no noise. Kept over versions.
const shown = 'pavement-shown';
const mostShown = 100;

// The address of this phone and what it follows, as js/kept.js keeps them. Kept over versions.
const phone = 'pavement-phone';

// How long a page may keep a walker waiting where an older copy is at hand.
const patience = 4_000;

self.addEventListener('install', event => event.waitUntil(install()));
self.addEventListener('activate', event => event.waitUntil(activate()));

async function install() {
  const cache = await caches.open(assets);
  const files = await fetch('/kept-files.json', { cache: 'no-store' });
  if (!files.ok) throw new Error(`the list of files was answered with ${files.status}`);
  await cache.addAll((await files.json()).map(path => new Request(path, { cache: 'no-cache' })));
  await Promise.allSettled(['/', '/offline'].map(async path => keep(path, await fetch(path, { cache: 'no-store' }))));
  await self.skipWaiting();
}

async function activate() {
  const names = await caches.keys();
  await Promise.all(names.filter(n => ![assets, pages, shown, phone].includes(n)).map(n => caches.delete(n)));
  await self.clients.claim();
}

self.addEventListener('fetch', event => {
  const url = new URL(event.request.url);
  if (event.request.method !== 'GET' || url.origin !== location.origin || url.pathname.startsWith('/api/')) return;
  if (event.request.mode === 'navigate') event.respondWith(page(event.request, url));
  else if (/^\/(css|js|icons|_content)\/|^\/manifest\.webmanifest$/.test(url.pathname)) event.respondWith(asset(event));
});

// Only what a walker needs on the way. An owner's link or the business's page stays off a phone that may be shared.
const mayKeep = path => path === '/' || path === '/offline' || path.startsWith('/spots/');

async function page(request, url) {
  const copy = mayKeep(url.pathname) ? await recall(url.pathname + url.search) : null;
  try {
    const network = fetch(request).then(async answer => {
      if (mayKeep(url.pathname)) await keep(url.pathname + url.search, answer);
      return answer;
    });
    const answer = copy ? await first(network, patience) : await network;
    if (answer.status < 500 || !copy) return answer;
  } catch {
    // No network, or one too slow.
  }
  return copy ?? await recall('/offline') ?? Response.error();
}

function first(promise, milliseconds) {
  promise.catch(() => {});
  return Promise.race([promise, new Promise((_, reject) => setTimeout(reject, milliseconds))]);
}

async function keep(path, answer) {
  if (!answer.ok || answer.redirected || !answer.headers.get('content-type')?.startsWith('text/html')) return;
  const cache = await caches.open(pages);
  const headers = { 'content-type': answer.headers.get('content-type'), 'x-kept-at': String(Date.now()) };
  const policy = answer.headers.get('content-security-policy');
  if (policy) headers['content-security-policy'] = policy;
  await cache.delete(path);
  await cache.put(path, new Response(await answer.clone().text(), { headers }));
  const surplus = (await cache.keys()).filter(r => new URL(r.url).pathname.startsWith('/spots/')).slice(0, -mostPages);
  await Promise.all(surplus.map(r => cache.delete(r)));
}

// A kept page says when it was kept, before any of its scripts run.
async function recall(path) {
  const answer = await (await caches.open(pages)).match(path);
  if (!answer) return null;
  const text = await answer.text();
  return new Response(text.replace('<html ', `<html data-kept-at="${answer.headers.get('x-kept-at')}" `), { headers: answer.headers });
}

async function asset(event) {
  const cache = await caches.open(assets);
  const hit = await cache.match(event.request);
  if (hit) return hit;
  const answer = await fetch(event.request);
  if (answer.ok) event.waitUntil(cache.put(event.request, answer.clone()));
  return answer;
}

self.addEventListener('push', event => event.waitUntil(showAlert(event.data)));

async function showAlert(data) {
  const alert = read(data);
  const told = [alert.id, ...alert.with ?? []].filter(id => id);
  const again = await wereShown(told);
  const warns = alert.state === 'tooHot' || alert.state === 'tooCold';
  await self.registration.showNotification(alert.title ?? 'PavementWatch', {
    body: alert.body ?? 'A spot has changed. Open the page to see which.',
    tag: alert.tag ?? 'pavement',
    renotify: !again,
    silent: again,
    requireInteraction: warns,
    ...again ? {} : { vibrate: warns ? [300, 120, 300] : [150] },
    icon: '/icons/icon-192.png',
    badge: '/icons/badge-96.png',
    timestamp: Date.parse(alert.at) || Date.now(),
    data: { url: alert.url ?? '/', id: alert.id },
  });
  await noteShown(told);
  // One message may tell of several spots, and again of what was told before.
  await Promise.all([...told, ...(alert.again ?? []).filter(id => id)].map(receipt));
}

const shownKey = id => `/shown/${encodeURIComponent(id)}`;

// The server sends again what it did not hear to be shown; its word may have been lost on the way.
async function wereShown(ids) {
  try {
    const cache = await caches.open(shown);
    const known = await Promise.all(ids.map(id => cache.match(shownKey(id))));
    return known.length > 0 && known.every(found => found);
  } catch {
    return false;
  }
}

async function noteShown(ids) {
  try {
    const cache = await caches.open(shown);
    await Promise.all(ids.map(id => cache.put(shownKey(id), new Response(''))));
    const surplus = (await cache.keys()).slice(0, -mostShown);
    await Promise.all(surplus.map(key => cache.delete(key)));
  } catch {
    // No room: it may be told with a sound twice.
  }
}

// The browser demands a notification for every push, also for one we cannot read.
function read(data) {
  try {
    return data?.json() ?? {};
  } catch {
    return {};
  }
}

async function receipt(id) {
  try {
    await fetch(`/api/push/receipts/${encodeURIComponent(id)}`, { method: 'POST', keepalive: true });
  } catch {
    // Shown all the same; the server then tells the business that nobody confirmed.
  }
}

self.addEventListener('notificationclick', event => {
  event.notification.close();
  event.waitUntil(open(event.notification.data?.url ?? '/'));
});

async function open(path) {
  const wanted = new URL(path, location.origin);
  const url = wanted.origin === location.origin ? wanted.href : location.origin;
  const windows = await self.clients.matchAll({ type: 'window', includeUncontrolled: true });
  let client = windows.find(w => w.url === url) ?? windows[0];
  if (!client) return self.clients.openWindow(url);
  try {
    if (client.url !== url) client = await client.navigate(url) ?? client;
  } catch {
    return self.clients.openWindow(url);
  }
  try {
    await client.focus();
  } catch {
    // Some browsers refuse the focus; the page is at the right place all the same.
  }
}

self.addEventListener('pushsubscriptionchange', event => event.waitUntil(resubscribe(event)));

// Pauses before each time the server is told, short enough for a browser to wait.
const tellAfter = [0, 2_000, 10_000, 30_000];

async function resubscribe(event) {
  const known = await keptPhone();
  try {
    const subscription = event.newSubscription
      ?? await self.registration.pushManager.subscribe(event.oldSubscription?.options ?? await options());
    // The server gives it the spots of the one before.
    if (await tell(subscription.toJSON(), event.oldSubscription?.endpoint ?? known?.endpoint, known?.spots)) return;
  } catch {
    // As where the server does not take it.
  }
  // The next visit tries again, as what is kept names the address before.
  await self.registration.showNotification('No alerts may come to this phone any more', {
    body: 'Open PavementWatch on it, and they are on again.', tag: 'pavement-lost', icon: '/icons/icon-192.png', badge: '/icons/badge-96.png', requireInteraction: true, data: { url: '/' },
  });
}

async function tell({ endpoint, keys }, replaces, kept) {
  for (const pause of tellAfter) {
    await new Promise(resolve => setTimeout(resolve, pause));
    try {
      const answer = await fetch('/api/push/subscriptions', {
        method: 'POST',
        headers: { 'content-type': 'application/json' },
        body: JSON.stringify({ endpoint, keys, kept, replaces: replaces === endpoint ? undefined : replaces }),
      });
      if (answer.ok) {
        const { spots } = await answer.json();
        await (await caches.open(phone)).put('/phone', new Response(JSON.stringify({ endpoint, spots })));
        return true;
      }
      // Signed out, or not to be taken at all: asking again changes nothing.
      if (answer.status < 500 && answer.status !== 429) return false;
    } catch {
      // No network, or no server.
    }
  }
  return false;
}

async function keptPhone() {
  try {
    return await (await caches.match('/phone', { cacheName: phone }))?.json() ?? null;
  } catch {
    return null;
  }
}

async function options() {
  const { key } = await (await fetch('/api/push/key', { cache: 'no-store' })).json();
  return { userVisibleOnly: true, applicationServerKey: key };
}

// On every page: what needs scripts appears, and the service worker is kept current.

for (const element of document.querySelectorAll('[data-needs-script]')) element.hidden = false;

if ('serviceWorker' in navigator) {
  const version = document.documentElement.dataset.version;
  navigator.serviceWorker.register(`/service-worker.js?v=${version}`, { updateViaCache: 'none' })
    .catch(error => console.warn('No offline pages and no alerts: the service worker was not accepted.', error));
}

// Whoever has the phone next shall not read what the last one looked at.
document.getElementById('leave')?.addEventListener('submit', async event => {
  event.preventDefault();
  const form = event.target;
  try {
    const registration = await navigator.serviceWorker?.getRegistration();
    const subscription = await registration?.pushManager?.getSubscription();
    if (subscription) {
      // Else the server would take it for a phone that was lost.
      await fetch('/api/push/subscriptions', {
        method: 'DELETE', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ endpoint: subscription.endpoint }), signal: AbortSignal.timeout(5_000),
      }).catch(() => {});
      await subscription.unsubscribe();
    }
    await registration?.unregister();
    for (const name of await caches.keys()) await caches.delete(name);
    localStorage.clear();
    sessionStorage.clear();
  } finally {
    form.submit();
  }
});

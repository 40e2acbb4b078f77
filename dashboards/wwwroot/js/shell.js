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
    await (await registration?.pushManager?.getSubscription())?.unsubscribe();
    await registration?.unregister();
    for (const name of await caches.keys()) await caches.delete(name);
    localStorage.clear();
    sessionStorage.clear();
  } finally {
    form.submit();
  }
});

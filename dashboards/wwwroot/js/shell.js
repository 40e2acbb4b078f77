// On every page: what needs scripts appears, and the service worker is kept current.

for (const element of document.querySelectorAll('[data-needs-script]')) element.hidden = false;

if ('serviceWorker' in navigator) {
  const version = document.documentElement.dataset.version;
  navigator.serviceWorker.register(`/service-worker.js?v=${version}`, { updateViaCache: 'none' })
    .catch(error => console.warn('No offline pages and no alerts: the service worker was not accepted.', error));
}

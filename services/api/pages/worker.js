// Keeps the pages' shells and assets, so that a page opens when the network is gone. Answers of the
// service itself are never kept here.

const NAME = `lotwarden-${VERSION}`;

self.addEventListener('install', (event) => {
  // Where a browser can be told so, the service's answers do not wait until this worker has started.
  event.addRoutes?.({ condition: { urlPattern: '/v1/*' }, source: 'network' });
  event.waitUntil(caches.open(NAME).then((cache) => cache.addAll(FILES)).then(() => self.skipWaiting()));
});

self.addEventListener('activate', (event) => {
  const old = (names) => names.filter((name) => name !== NAME).map((name) => caches.delete(name));
  event.waitUntil(caches.keys().then((names) => Promise.all(old(names))).then(() => self.clients.claim()));
});

self.addEventListener('fetch', (event) => {
  const { pathname } = new URL(event.request.url);
  if (event.request.method !== 'GET' || !FILES.includes(pathname)) return;
  // The network first: a newer page counts at once, in the language that was chosen.
  event.respondWith(fetch(event.request).then(async (response) => {
    if (response.ok) (await caches.open(NAME)).put(event.request, response.clone());
    return response;
  }).catch(() => caches.match(pathname, { ignoreSearch: true, ignoreVary: true })));
});

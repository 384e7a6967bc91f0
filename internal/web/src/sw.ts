// The service worker: keeps the page's own files, so that the screen opens after
// sleep and while the daemon starts anew. It never keeps data: /api, /events and
// /tiles always go to the daemon.

const build = 'shell __BUILD__'
const shell = '__SHELL__'.split("','")

const worker = self as unknown as ServiceWorkerGlobalScope

worker.addEventListener('install', (event) => {
  event.waitUntil(
    caches.open(build).then((cache) => cache.addAll(shell.map((path) => new Request(path, { cache: 'reload' })))).then(() => worker.skipWaiting()),
  )
})

worker.addEventListener('activate', (event) => {
  event.waitUntil(
    caches.keys().then((names) => Promise.all(names.filter((name) => name !== build).map((name) => caches.delete(name)))).then(() => worker.clients.claim()),
  )
})

worker.addEventListener('fetch', (event) => {
  const { method, url, mode } = event.request
  const { origin, pathname } = new URL(url)
  if (method !== 'GET' || origin !== location.origin) return
  if (pathname.startsWith('/assets/')) {
    // named by content: what is kept is right
    event.respondWith(caches.match(pathname).then((kept) => kept ?? fetch(event.request)))
  } else if (mode === 'navigate' && (pathname === '/' || pathname === '/marks')) {
    event.respondWith(fetch(event.request).catch(async () => (await caches.match(pathname)) ?? Response.error()))
  } else if (shell.includes(pathname)) {
    event.respondWith(fetch(event.request).catch(async () => (await caches.match(pathname)) ?? Response.error()))
  }
})

export {}

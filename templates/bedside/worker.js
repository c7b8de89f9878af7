{% load static %}// Keeps one page without any person in it, and what it is drawn with; every other answer comes from the network and is not kept.
"use strict";

const KEPT = "bedside-{{ version|escapejs }}";
const HOME = "{% url "bedside" %}";
const FILES = [HOME{% for file in files %}, "{{ file|escapejs }}"{% endfor %}];
// One address may be written in two ways: a bracket as itself, or as %5B.
const listed = new Map(FILES.map((path) => [decodeURIComponent(path), path]));

// Fetched as a stranger would, without a session.
const fetched = (path) => fetch(path, { credentials: "omit", cache: "no-cache" }).then((answer) => {
  if (!answer.ok || answer.redirected) throw new Error(`${path}: ${answer.status}`);
  return answer;
});

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const cache = await caches.open(KEPT);
  await Promise.all(FILES.map(async (path) => cache.put(path, await fetched(path))));
  await self.skipWaiting();
})()));

self.addEventListener("activate", (event) => event.waitUntil((async () => {
  const old = (await caches.keys()).filter((name) => name.startsWith("bedside-") && name !== KEPT);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
})()));

const kept = async (path) => (await caches.open(KEPT)).match(path, { ignoreVary: true });
const isHome = (url) => new URL(url).pathname === HOME;

// A file belongs to the kept page only where that page asks for it; others get what the network has today.
async function file(event, path) {
  const asking = event.clientId && await self.clients.get(event.clientId);
  return (asking && isHome(asking.url) && await kept(path)) || fetch(event.request);
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== self.location.origin) return;
  if (request.mode === "navigate") {
    event.respondWith(isHome(request.url)
      ? kept(HOME).then((page) => page || fetch(request))
      : fetch(request).catch(() => Response.redirect(HOME)));
  } else if (listed.has(decodeURIComponent(url.pathname))) {
    event.respondWith(file(event, listed.get(decodeURIComponent(url.pathname))));
  }
});

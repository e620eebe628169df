// Keeps the pages of an open sheet on the phone: where there is no signal they are there all the same. The office is asked
// first, always; a kept page is shown only when it does not answer. What is typed is kept by kept.js, never here.
"use strict";
const KEPT = "sheets", PATIENCE = 8000;
const isPage = path => /^\/sheet\/[^/]+\/(reading\/[^/]+|readings|finding|look|work|after|check|unsafe|close|in-the-way)$/.test(path);

self.addEventListener("install", () => self.skipWaiting());
self.addEventListener("activate", event => event.waitUntil(self.clients.claim()));

const answered = async (request, url) => {
  const kept = await caches.open(KEPT), place = url.origin + url.pathname, copy = await kept.match(place);
  try {
    // Hardly any signal is none, once there is something to show instead.
    const late = new Promise((_, give_up) => { if (copy) setTimeout(give_up, PATIENCE, new Error("no answer in time")); });
    const answer = await Promise.race([fetch(request), late]);
    if (answer.ok && answer.type === "basic" && !answer.redirected && !url.search) await kept.put(place, answer.clone());
    return answer;
  } catch (lost) {
    if (copy) return copy;
    throw lost;
  }
};

self.addEventListener("fetch", event => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  if (request.method === "GET" && (isPage(url.pathname) || url.pathname.startsWith("/assets/"))) {
    event.respondWith(answered(request, url));
  } else if (request.method === "POST" && request.mode === "navigate" && isPage(url.pathname)) {
    // It did not get through: back to its page, which keeps what was typed and goes on.
    event.respondWith(fetch(request).catch(() => Response.redirect(`${url.origin}${url.pathname}?kept`, 303)));
  }
});

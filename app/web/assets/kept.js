// What is typed on a sheet where there is no signal: kept on the phone, laid over its pages, and sent in order as soon as the
// office answers again. The office judges each step as if it came just then; what it does not take stays on its page.
"use strict";
const sheetsKept = {
  nothing: () => ({ visit: "", who: "", office: {}, at: "", posts: [], refused: {} }),
  of: job => JSON.parse(localStorage.getItem(`sheet ${job}`) ?? "null") ?? sheetsKept.nothing(),
  keep: (job, kept) => localStorage.setItem(`sheet ${job}`, JSON.stringify(kept)),
  // Only the steps of whoever is signed in: nobody sends in another's name.
  jobs: () => Object.keys(localStorage).filter(name => name.startsWith("sheet ")).map(name => name.slice(6))
    .filter(job => sheetsKept.of(job).who === document.body.dataset.who && sheetsKept.of(job).posts.length),
  say: (words, link) => {
    const bar = document.getElementById("no-signal");
    if (!bar) return;
    bar.hidden = !words;
    bar.replaceChildren(words);
    if (link) bar.append(" ", Object.assign(document.createElement("a"), { href: link, textContent: "See it again" }));
  },
  sayWaiting: () => {
    const n = sheetsKept.jobs().reduce((sum, job) => sum + sheetsKept.of(job).posts.length, 0);
    sheetsKept.say(n ? `No signal: ${n === 1 ? "1 step is" : `${n} steps are`} kept on this phone. The office has them as soon as there is signal.` : "");
  },

  // Sends the steps of one job, oldest first; each carries its own key, so that one whose answer was lost is not done twice.
  sendOf: async job => {
    for (let kept = sheetsKept.of(job); kept.posts.length; kept = sheetsKept.of(job)) {
      const { to, body, typed } = kept.posts[0], path = to.split("?")[0];
      const answer = await fetch(to, { method: "POST", body: new URLSearchParams(body) }), at = new URL(answer.url).pathname;
      if (at === "/sign-in") return sheetsKept.say("What you typed is kept on this phone until you have signed in again.");
      if (answer.status >= 500) return sheetsKept.sayWaiting();
      const now = sheetsKept.of(job);
      now.posts.shift();
      Object.assign(answer.ok ? now.office : now.refused, answer.ok ? typed : { [path]: typed });
      sheetsKept.keep(job, now);
      if (!answer.ok) return sheetsKept.say("The office did not take one step of the sheet; what you typed is still there.", path);
      if (at.endsWith("/kept")) localStorage.removeItem(`sheet ${job}`);
      if (/\/(kept|quote)$/.test(at) && location.pathname.startsWith(`/sheet/${job}/`)) return location.assign(at);
    }
    return "sent";
  },
  send: () => navigator.locks?.request("sheets", { ifAvailable: true }, async lock => {
    const jobs = sheetsKept.jobs();
    if (!lock || !jobs.length) return;
    try {
      for (const job of jobs) if (await sheetsKept.sendOf(job) !== "sent") return;
      // A page on which nothing was typed since is asked for anew; any other is left to whoever is typing.
      if (location.pathname.startsWith("/sheet/") && !document.body.dataset.touched) location.reload();
      else sheetsKept.say("The office has what was kept on this phone.");
    } catch { sheetsKept.sayWaiting(); }
  }),
};

// A page of the sheet: `about` is what the server handed over with it, `mayEnd` says whether the visit may end as chosen.
const keptOf = (about, form, mayEnd) => {
  const { of, keep } = sheetsKept, job = about.job.id, path = location.pathname, size = object => Object.keys(object).length;
  let kept = of(job);
  if (kept.visit !== about.visit || kept.who !== document.body.dataset.who) {
    // Of a visit that is over, or of somebody else, nothing is sent; what was typed is not lost from its page.
    const refused = Object.fromEntries(kept.posts.map(post => [post.to.split("?")[0], post.typed]));
    kept = { ...sheetsKept.nothing(), visit: about.visit, who: document.body.dataset.who, refused };
  }
  // The office's sheet as last seen: a kept page may be older than another that came since. Names are added, never lost.
  const older = Date.parse(kept.at || 0) - Date.parse(about.at);
  if (older < 0 || (older === 0 && size(about.typed) >= size(kept.office))) Object.assign(kept, { office: about.typed, at: about.at });
  const lost = new URLSearchParams(location.search).has("kept") && kept.sending?.to.split("?")[0] === path ? kept.sending : null;
  delete kept.sending;
  keep(job, kept);

  const sheet = () => { const now = of(job); return Object.assign({}, now.office, ...now.posts.map(post => post.typed)); };
  const lay = typed => {
    for (const field of form.elements) {
      if (!field.name || field.type === "hidden" || typed[field.name] === undefined) continue;
      if (field.type === "radio") field.checked = field.value === typed[field.name];
      else field.value = typed[field.name];
    }
  };
  const laid = kept.posts.length || lost || kept.refused[path] ? { ...sheet(), ...kept.refused[path], ...lost?.typed } : {};
  lay(laid);
  // A kept page carries the key of the day it was kept: every sending has one of its own.
  if (form.elements.once && crypto.randomUUID) form.elements.once.value = crypto.randomUUID();

  // It waits its turn and the sheet goes on; an end that the blocks bar is not sent, only kept on its page.
  const wait = step => {
    const now = of(job);
    if (mayEnd()) now.posts.push(step); else now.refused[path] = step.typed;
    keep(job, now);
    if (about.page !== "close") location.replace(`/sheet/${job}/${about.next}`);
  };
  const settle = () => {
    if (lost) {
      history.replaceState(null, "", path);
      wait(lost);
    }
    sheetsKept.sayWaiting();
    sheetsKept.send();
  };
  form.addEventListener("input", () => { document.body.dataset.touched = "yes"; });
  form.addEventListener("submit", event => {
    const data = [...new FormData(form, event.submitter)], url = new URL(form.action), now = of(job);
    const typed = Object.fromEntries(data.filter(([key]) => key !== "once" && !key.startsWith("p.")));
    const step = { to: url.pathname + url.search, body: new URLSearchParams(data).toString(), typed };
    delete now.refused[path];
    if (!now.posts.length) now.sending = step;
    keep(job, now);
    if (!now.posts.length) return;
    // Steps before it still wait: none overtakes them.
    event.preventDefault();
    delete document.body.dataset.touched;
    wait(step);
    sheetsKept.sayWaiting();
    sheetsKept.send();
  });
  // Whether the phone knows more than the page it shows.
  const ahead = () => { const now = sheet(); return Object.keys(now).some(key => now[key] !== (about.typed[key] ?? "")); };
  return { sheet, settle, laid, ahead };
};

// The pages of an open sheet and what they load, fetched once; the worker shows them where there is no signal.
const keepPages = async about => {
  if (!navigator.serviceWorker || !window.caches) return;
  await navigator.serviceWorker.register("/assets/worker.js", { scope: "/sheet/" });
  if (!navigator.serviceWorker.controller) await new Promise(there => navigator.serviceWorker.addEventListener("controllerchange", there, { once: true }));
  const kept = await caches.open("sheets"), loaded = [...document.querySelectorAll("script[src], link[rel='stylesheet']")].map(e => e.src || e.href);
  const pages = about.pages.map(page => `${location.origin}/sheet/${about.job.id}/${page}`);
  for (const place of [...loaded, `${location.origin}/assets/rules/${about.digest}`, ...pages]) {
    if (await kept.match(place)) continue;
    const answer = await fetch(place);
    if (answer.ok && !answer.redirected) await kept.put(place, answer);
  }
  document.documentElement.dataset.kept = "yes";
};

sheetsKept.send();
addEventListener("online", sheetsKept.send);
setInterval(sheetsKept.send, 5000);
document.querySelector("form[action='/sign-out']")?.addEventListener("submit", event => {
  // Signing out takes everything off the phone.
  if (sheetsKept.jobs().length && !confirm("Steps of a sheet are still on this phone and not at the office. Sign out and lose them?")) event.preventDefault();
});

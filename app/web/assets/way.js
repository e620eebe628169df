// "Something is in the way" where there is no signal: what was said is kept on the phone and told to the office, in order, as
// soon as it answers again, from whatever page is open then. Only adds: without it the form is sent as any other.
"use strict";
(() => {
  const NAME = "in the way", who = document.body.dataset.who ?? "";
  const kept = () => JSON.parse(localStorage.getItem(NAME) ?? "[]");
  const keep = steps => localStorage.setItem(NAME, JSON.stringify(steps));
  // Nobody sends in another's name.
  const mine = () => kept().filter(step => step.who === who);
  const say = (words, link) => {
    const bar = document.getElementById("way-kept") ?? Object.assign(document.createElement("div"), { id: "way-kept", className: "no-signal", role: "status" });
    bar.hidden = !words;
    bar.replaceChildren(words);
    if (link) bar.append(" ", Object.assign(document.createElement("a"), { href: link, textContent: "See it again" }));
    document.querySelector("header.top")?.before(bar);
  };
  const sayWaiting = () => {
    const n = mine().length;
    say(n ? `No signal: ${n === 1 ? "what you said is" : `${n} things you said are`} kept on this phone. The office has it as soon as there is signal.` : "");
  };
  const post = step => fetch(step.to, { method: "POST", body: new URLSearchParams(step.body) });
  const at = answer => new URL(answer.url).pathname;

  const sendAll = async () => {
    let told = false;
    for (let [step] = mine(); step; [step] = mine()) {
      const answer = await post(step);
      if (at(answer) === "/sign-in") return say("What you said is kept on this phone until you have signed in again.");
      if (answer.status >= 500) return sayWaiting();
      // Each carries a key of its own, so that one whose answer was lost is not done twice.
      keep(kept().filter(other => other.body !== step.body));
      if (!answer.ok) return say("The office did not take what you said was in the way.", step.to.replace(/\/[^/]+$/, ""));
      told = true;
    }
    // Said once all of it is there.
    if (told) say("The office has what you said was in the way.");
  };
  const send = async () => {
    if (!mine().length) return;
    const all = () => sendAll().catch(sayWaiting);
    if (navigator.locks) await navigator.locks.request(NAME, { ifAvailable: true }, lock => lock && all());
    else await all();
  };

  for (const form of document.querySelectorAll("form[action*='/in-the-way/']")) {
    form.addEventListener("submit", async event => {
      event.preventDefault();
      // A page may be older than its last sending, and kept: every sending has a key of its own.
      if (crypto.randomUUID) form.elements.once.value = crypto.randomUUID();
      const step = { to: new URL(form.action).pathname, body: new URLSearchParams(new FormData(form)).toString(), who };
      let answers = false;
      try { answers = !mine().length && (await fetch("/alive", { cache: "no-store" })).ok; } catch { /* no signal */ }
      if (answers) return form.submit();
      keep([...kept(), step]);
      form.reset();
      sayWaiting();
      send();
    });
  }
  sayWaiting();
  send();
  addEventListener("online", send);
  setInterval(send, 5000);
})();

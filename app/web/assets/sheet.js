// A page of the sheet on the phone: says at once, without signal too, what the rule book says of what is typed, and sends
// that along, so that the server can say where it judges otherwise. Only adds: without it the server says the same one
// page later.
"use strict";
(async () => {
  const says = document.getElementById("says"), form = says?.closest("form");
  if (!form) return;
  const about = JSON.parse(says.dataset.about), likely = document.getElementById("likely"), stands = document.getElementById("stands");
  let mayEnd = true;
  const kept = keptOf(about, form, () => mayEnd);
  keepPages(about).catch(() => { /* a phone that keeps no pages says all the same what the rules say */ });
  const answered = await fetch(`/assets/rules/${about.digest}`).catch(() => null);
  if (!answered?.ok) return kept.settle();
  const rules = rulesOf(await answered.json()), said = saidOf(rules, about);
  const visit = visitOf(rules, daysOf(rules), about), set = rules.book.sets.find(s => s.kinds.includes(about.kind));

  const make = (tag, words, className) => {
    const element = document.createElement(tag);
    if (words) element.textContent = words;
    if (className) element.className = className;
    return element;
  };
  const paragraph = (...parts) => { const p = make("p"); p.append(...parts); return p; };
  const say = (place, elements) => {
    const words = elements.map(e => e.textContent).join("\n");
    if (place.dataset.said === words) return; // not to be read aloud again
    place.dataset.said = words;
    place.replaceChildren(...elements);
  };
  // What the phone said goes along under the names the server holds against its own.
  const tell = (what, short) => {
    const name = `p.${what}`;
    if (!form.elements[name]) {
      const told = make("input");
      Object.assign(told, { type: "hidden", name });
      form.append(told);
    }
    form.elements[name].value = short;
  };
  // As the server lays it: what this page's form holds over what was kept before.
  const typed = () => {
    const now = kept.sheet();
    for (const [key, text] of new FormData(form)) if (key !== "once" && !key.startsWith("p.")) now[key] = text;
    return now;
  };

  const sayFindings = now => {
    const here = now.found.findings.filter(f => f.reading === about.reading);
    tell(about.reading, said.shortFindings(here));
    say(says, [...here, ...said.ahead(set, now.before)].map(f => {
      const grave = f.level === "act" || f.level === "stop";
      return make("p", f.level === "pass" ? `Inside the limit. ${f.sentence}` : f.sentence, grave ? "finding" : "soft");
    }));
  };
  const sayLikely = now => {
    const ranked = now.ranking();
    tell("ranking", said.shortRanking(ranked));
    if (!ranked) return say(likely, []);
    const words = said.ranking(ranked), asked = form.querySelector(`input[type="radio"][name="o.${ranked.best_test}"]`);
    const sure = ranked.posterior[ranked.top3[0]] >= 0.925; // the words stop at 19 in 20: no test splits what is left
    say(likely, [
      paragraph(make("strong", "Likely parts:"), ` ${words.likely}.`),
      ...(words.bring ? [make("p", `Bring: ${words.bring}.`)] : []),
      ...(words.test && !asked && !sure ? [make("p", `One test splits them best. See whether this is so: ${words.test}.`)] : []),
      ...(about.page === "finding" ? [] : [make("p", about.caution, "soft")]),
    ]);
  };
  const sayDue = now => say(says, about.job.duties.filter(duty => duty.dated && typed()[`duty.${duty.code}`]).map(duty => {
    const sentence = said.duty(duty, now.due(duty, now.whole(duty)));
    return paragraph(make("strong", `${duty.name}:`), ` ${sentence}`);
  }));

  // A kept page of findings was written before what is on the phone now.
  const sayFound = now => {
    const words = said.findings(now), stop = make("a", "Say how you class it");
    stop.href = `/sheet/${about.job.id}/unsafe`;
    document.querySelector("h1").textContent = words.heading;
    say(document.getElementById("found"), [...words.further.map(f => make("p", f.sentence, "finding")), ...words.noted.map(f => make("p", f.sentence, "soft")),
      make("p", "This is what the phone makes of it; the office also looks at earlier visits and at what was not taken.", "soft"),
      ...(now.stops.length ? [paragraph(make("strong", "A reading says stop. "), stop)] : [])]);
  };

  // A soft block lets go for a typed reason: where the page has no field for it yet, it gets one.
  const askReasons = keys => {
    const fresh = keys.filter(key => !form.elements[`soft.${key}`]);
    for (const key of fresh) {
      const field = make("div", "", "field"), label = make("label", `${rules.book.soft_blocks.find(b => b.key === key).words} If so, why?`), input = make("input");
      Object.assign(input, { name: `soft.${key}`, id: `soft.${key}`, autocomplete: "off", value: kept.laid[`soft.${key}`] ?? "" });
      label.htmlFor = input.id;
      field.append(label, input);
      says.before(field);
    }
    return fresh.some(key => form.elements[`soft.${key}`].value);
  };
  const sayStands = now => {
    const closed = now.completion(), words = said.completion(closed, now.stops);
    if (askReasons(closed.soft_blocks)) return sayStands(visit(typed())); // a reason was typed before the page came anew
    tell("completion", said.shortCompletion(closed));
    const box = (...inside) => { const div = make("div", "", "finding"); div.append(...inside); return div; };
    const link = (step, text) => { const a = make("a", text); a.href = `/sheet/${about.job.id}/${step}`; return a; };
    const ways = paragraph(link("after", "Measure again"), ", ", link("work", "what you did"), ", ", link("unsafe", "something unsafe"));
    say(stands, [
      ...words.must.map(must => box(paragraph(make("strong", must)))),
      ...(words.open ? [] : [box(paragraph(make("strong", "“Done” is not possible yet.")), ...words.in_the_way.map(reason => make("p", reason)), ways)]),
    ]);
    for (const end of form.querySelectorAll("input[name='outcome']")) {
      const hint = form.querySelector(`label[for='${end.id}'] span`);
      hint.textContent = words.ends[end.value] ? hint.dataset.open : "waits for what stands above";
    }
    const { outcome } = typed(), clock = outcome && outcome !== "done" && now.clock();
    mayEnd = words.ends[outcome] === true;
    say(says, clock ? [make("p", said.clock(clock))] : []);
  };

  const speak = () => {
    const now = visit(typed());
    if (about.reading) sayFindings(now);
    if (likely) sayLikely(now);
    if (about.page === "finding" && kept.ahead()) sayFound(now);
    if (about.page === "check") sayDue(now);
    if (stands) sayStands(now);
  };
  form.addEventListener("input", speak);
  // A list's choice is told by some browsers at its change only.
  form.addEventListener("change", speak);
  speak();
  kept.settle();
})();

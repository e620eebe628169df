// A reading's page on the phone: says at once, without signal too, what the rule book says of what is typed, and sends that
// along, so that the server can say where it judges otherwise. Only adds: without it the server says the same one page later.
"use strict";
(async () => {
  const says = document.getElementById("says");
  const form = says?.closest("form");
  if (!form) return;
  const about = JSON.parse(says.dataset.about);
  const answered = await fetch(`/assets/rules/${about.digest}`);
  if (!answered.ok) return;
  const rules = rulesOf(await answered.json());
  const set = rules.setOf(about.kind);
  const fields = [...set.readings, ...set.tests].flatMap(spec => spec.fields);
  const said = document.createElement("input");
  said.type = "hidden";
  said.name = `p.${about.reading}`;
  form.append(said);

  // As the server reads a field: blank is not given, a comma may stand for the point, nonsense is no value.
  const read = (field, typed) => {
    const text = typed.trim();
    if (!text) return undefined;
    if (field.answer === "yes_no") return { yes: true, no: false }[text];
    if (field.answer !== "number") return text;
    const x = Number(text.replace(",", "."));
    return x >= (field.least ?? -Infinity) && x <= (field.most ?? Infinity) ? x : undefined;
  };
  const typed = () => {
    const data = new FormData(form), known = { ...about.known };
    for (const field of fields) if (data.has(`r.${field.code}`)) known[field.code] = read(field, data.get(`r.${field.code}`));
    return known;
  };
  // Trend rule iv: at this pace the limit is crossed before the next visit.
  const ahead = () => set.trends.filter(t => t.reading === about.reading).flatMap((t, i) => {
    try {
      const v = typed(), now = rules.num(t.of, v), value = rules.num(t.value, v);
      if (!Number.isFinite(now) || !Number.isFinite(value)) return [];
      const said = rules.trend({ series: [...about.earlier[i], { on: about.on, value: now }], limit: { kind: t.limit, value },
        next_due: about.next_due, work_recorded_since_last: about.work_since });
      if (!said.do_at_this_visit) return [];
      const then = `${Number(said.projected.toPrecision(3))} ${t.unit}`.trim();
      return [{ level: "act", sentence: `At this pace the ${t.label} is ${then} by ${about.next_due}: do it at this visit.` }];
    } catch { return []; }
  });
  const speak = () => {
    const here = rules.atVisit(about.kind, typed(), about.makers).findings.filter(f => f.reading === about.reading);
    said.value = [about.digest.slice(0, 12), ...here.map(f => `${f.row}:${f.code}`)].join(" ");
    says.replaceChildren(...[...here, ...ahead()].map(f => {
      const p = document.createElement("p");
      const grave = f.level === "act" || f.level === "stop";
      p.className = grave ? "finding" : "soft";
      p.textContent = f.level === "pass" ? `Inside the limit. ${f.sentence}` : f.sentence;
      return p;
    }));
  };
  form.addEventListener("input", speak);
  speak();
})();

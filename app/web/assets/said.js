// What the phone says of a visit, in the server's sentences, word for word: likely parts and how sure that is, what stands
// in the way of "done", when a duty falls due again. And in short, for the office to hold against its own.
"use strict";
const saidOf = (rules, about) => {
  const { book } = rules, table = book.suspects.find(t => t.kind === about.kind), digest = about.digest.slice(0, 12);
  const day = date => new Date(date).toLocaleDateString("en-GB", { day: "numeric", month: "long", year: "numeric", timeZone: "UTC" });
  const some = (n, one, more) => n === 1 ? `1 ${one}` : `${n} ${more}`;
  const list = items => items.length < 2 ? items.join("") : `${items.slice(0, -1).join(", ")} and ${items.at(-1)}`;

  // Natural frequencies; observations are taken as independent, so figures run high and the words stop at 19 in 20.
  const chance = p => {
    if (!(p >= 0.02 && p <= 1)) return "less than 1 in 50";
    if (p >= 0.925) return "about 19 in 20";
    if (p < 0.15) return `about 1 in ${Math.round(1 / p)}`;
    const tenths = Math.min(Math.max(Math.round(p * 10), 1), 9);
    return tenths === 5 ? "about 1 in 2" : `about ${tenths} in 10`;
  };
  const part = code => table.parts.find(p => p.code === code).part;
  const ranking = ranked => ({
    likely: ranked.top3.map(code => `${part(code)}, ${chance(ranked.posterior[code])}`).join("; "),
    bring: list(ranked.top3.filter(code => ranked.take.includes(code)).map(part)).toLowerCase(),
    test: table.observations.find(o => o.code === ranked.best_test)?.words ?? "",
  });
  const shortRanking = ranked => ranked ? `${digest} ${ranked.top3.join(",")} ${ranked.best_test ?? "-"}` : `${digest} -`;

  const completion = (closed, stops) => {
    const must = closed.must_do.map(code => about.must[code]);
    const hard = book.blocks.filter(b => closed.hard_blocks.includes(b.block)).map(b => b.words);
    const soft = book.soft_blocks.filter(b => closed.soft_blocks.includes(b.key)).map(b => `${b.words} Type the reason.`);
    // The ends of a visit and what of them the blocks leave open.
    const may = outcome => closed.allowed_outcomes.includes(outcome);
    const ends = { done: may("complete") && !stops.length, waiting_for_decision: may("made_safe_return"), waiting_for_part: may("awaiting_part"),
      made_safe: may("made_safe_return") || may("user_declined"), no_access: may("no_access"), left_isolated: may("isolated") };
    return { must, ends, open: ends.done,
      in_the_way: [...must, ...hard, ...soft, ...stops.map(f => f.sentence)] };
  };
  const shortCompletion = closed => `${digest} hard:${closed.hard_blocks.join(",")} soft:${closed.soft_blocks.join(",")}`;

  // What a page of findings says: its heading, then what has to be acted upon, gravest first, then what is worth knowing.
  const findings = now => {
    const grave = level => now.found.findings.filter(f => f.level === level), loud = [...grave("stop"), ...grave("act")];
    const none = Object.keys(now.before).length ? "The readings are inside their limits" : "No reading is entered yet";
    return { heading: loud[0]?.sentence ?? none, further: loud.slice(1), noted: [...grave("watch"), ...grave("info")] };
  };

  // A duty after today's visit. `due` is what the days' script answered.
  const duty = ({ dated: { window_rule, deadline } }, due) => {
    const done = day(about.on), next = due.next_deadline && day(due.next_deadline), stands = deadline && day(deadline);
    const late = some(due.days_late, "day", "days");
    if (due.result === "not_a_check" && window_rule === "W1") {
      const none = `The visit on ${done} did not complete the check items, so no check happened`;
      return stands ? `${none}: still due by ${stands}.` : `${none}.`;
    }
    if (due.result === "not_a_check") return `The visit on ${done} did not complete the work, so nothing was met by it.`;
    if (window_rule === "W1") {
      return { first: `First check, done on ${done}; the next is due by ${next}.`,
        kept: `Done on ${done}, inside the two months before ${stands}, so the next is due by ${next}.`,
        reset_early: `Done on ${done}, before ${due.window_first && day(due.window_first)}, when the two months ending on ${stands} begin, so the date moves: the next is due by ${next}.`,
        late: `Done on ${done}, ${late} after ${stands}: late, and logged as a breach. The next is due by ${next}.` }[due.result];
    }
    if (window_rule === "W2") {
      return due.result === "late"
        ? `Done on ${done}, ${late} after ${stands}: late. The next is due by ${next}, counted from the day it was done.`
        : `Done on ${done}; the next is due by ${next}, counted from that day.`;
    }
    if (window_rule === "W6") return `Review due by ${next}, the longest gap after the review of ${done}.`;
    if (window_rule !== "W3") return `Done on ${done}; it comes again only when its event does.`;
    if (due.result === "round_first") return `First on record, done on ${done}; its rounds start from that day and the next is ${next}.`;
    const nominal = day(due.nominal);
    if (due.result === "on_time") return `Done on ${done} for the round of ${nominal}; the next is ${next}.`;
    if (due.result === "early_open") return `Done on ${done}, before ${day(due.earliest)}: too early to close the round of ${nominal}, which stays open.`;
    return due.missed > 0
      ? `Done on ${done} for the round of ${nominal}, with ${some(due.missed, "round", "rounds")} missed before it; the next is ${next}.`
      : `Done on ${done}, after ${day(due.latest)}, the last day for the round of ${nominal}: late. The next is ${next}.`;
  };

  // A clock's last moment; a day lasts to its end.
  const clock = by => `Left open, it has to be put right by ${by.slice(11) || "23:59"} on ${day(by.slice(0, 10))}.`;

  // Trend rule iv: at this pace the limit is crossed before the next visit.
  const ahead = (set, before) => set.trends.filter(t => t.reading === about.reading).flatMap((t, i) => {
    try {
      const v = { ...about.known, ...before }, now = rules.num(t.of, v), value = rules.num(t.value, v);
      if (!Number.isFinite(now) || !Number.isFinite(value)) return [];
      const said = rules.trend({ series: [...about.earlier[i], { on: about.on, value: now }], limit: { kind: t.limit, value },
        next_due: about.next_due, work_recorded_since_last: about.work_since });
      if (!said.do_at_this_visit) return [];
      const then = `${Number(said.projected.toPrecision(3))} ${t.unit}`.trim();
      return [{ level: "act", sentence: `At this pace the ${t.label} is ${then} by ${day(about.next_due)}: do it at this visit.` }];
    } catch { return []; }
  });
  const shortFindings = findings => [digest, ...findings.map(f => `${f.row}:${f.code}`)].join(" ");
  return { findings, ranking, shortRanking, completion, shortCompletion, duty, clock, ahead, shortFindings };
};

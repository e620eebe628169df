// The rule book on the phone: reads the same data file as the server, so that a sheet says at once, without signal, what the
// server will say again when it arrives. Pure: a question in, an answer out. Limits, formulas, tables, blocks and days stand in
// the data; an operation there is a list, ["<", "cold_bar", 0.8]. Dates are texts, 2026-03-15; wall time is Europe/London's.
"use strict";
const rulesOf = book => {
  class Missing extends Error {}
  const refuse = why => { throw new Error(why); }, lacks = name => { throw new Missing(name); };
  const given = x => x !== undefined && x !== null, sum = list => list.reduce((a, b) => a + b, 0);
  const blank = x => !given(x) || (typeof x === "string" && !x.trim()) || (Array.isArray(x) && !x.length);
  const r6 = x => Number.isFinite(x * 1e6) ? Math.sign(x) * Math.round(Math.abs(x) * 1e6) / 1e6 : x;
  const find = (list, key, code) => list.find(x => x[key] === code) ?? refuse(`there is no ${code}`);
  const day = ms => new Date(ms).toISOString().slice(0, 10), days = (from, to) => (Date.parse(to) - Date.parse(from)) / 864e5;
  const months = (date, n) => { // never later than the month's end
    const [y, m, d] = date.split("-").map(Number), end = new Date(Date.UTC(y, m + n, 0)).getUTCDate();
    return day(Date.UTC(y, m - 1 + n, Math.min(d, end)));
  };

  // Expressions over values by name.
  const flat = (object, to = Object.create(null), at = "") => {
    for (const [key, x] of Object.entries(object ?? {})) {
      const inner = given(x) && typeof x === "object" && !Array.isArray(x);
      if (inner) flat(x, to, `${at}${key}.`);
      to[at + key] = inner ? true : x;
    }
    return to;
  };
  const constants = () => flat({ constant: Object.fromEntries(book.constants.map(c => [c.name, c.value])) });
  const nameOf = e => Array.isArray(e) ? nameOf(e[1]) : String(e);
  const value = (e, v) => Array.isArray(e) ? ops[e[0]](v, ...e.slice(1)) : typeof e === "string" ? v[e] : e;
  const sort = type => (e, v) => {
    const x = value(e, v);
    return given(x) ? typeof x === type ? x : refuse(`${nameOf(e)} must be a ${type}`) : lacks(nameOf(e));
  };
  const num = sort("number"), truth = sort("boolean"), text = sort("string");
  const finite = x => Number.isFinite(x) ? x : refuse("a sum has no finite result");
  const sums = f => (v, ...es) => finite(es.map(e => num(e, v)).reduce((a, b) => f(a, b))), alone = f => (v, e) => finite(f(num(e, v)));
  const compares = f => (v, a, b) => f(r6(num(a, v)), r6(num(b, v))), items = (v, list) => (value(list, v) ?? lacks(list)).map(x => flat(typeof x === "object" ? x : { it: x }, { ...v }));
  const gamma = x => { // Lanczos, g = 7, nine terms
    const c = [676.5203681218851, -1259.1392167224028, 771.32342877765313, -176.61502916214059, 12.507343278686905,
      -0.13857109526572012, 9.9843695780195716e-6, 1.5056327351493116e-7];
    const t = x + 6.5, a = c.reduce((s, g, i) => s + g / (x + i), 0.99999999999980993);
    return Math.sqrt(2 * Math.PI) * t ** (x - 0.5) * Math.exp(-t) * a;
  };
  const ops = {
    "+": sums((a, b) => a + b), "-": sums((a, b) => a - b), "*": sums((a, b) => a * b), "/": sums((a, b) => a / b),
    min: sums(Math.min), max: sums(Math.max), pow: sums(Math.pow), abs: alone(Math.abs), ln: alone(Math.log), gamma: alone(gamma),
    "<": compares((a, b) => a < b), "<=": compares((a, b) => a <= b), ">": compares((a, b) => a > b),
    ">=": compares((a, b) => a >= b), "=": compares((a, b) => a === b),
    and: (v, ...es) => es.every(e => truth(e, v)), or: (v, ...es) => es.some(e => truth(e, v)), not: (v, e) => !truth(e, v),
    known: (v, e) => given(value(e, v)), blank: (v, e) => blank(value(e, v)),
    yes: (v, e) => value(e, v) === true, no: (v, e) => value(e, v) === false,
    else: (v, ...es) => { for (const e of es) { const x = value(e, v); if (given(x)) return x; } },
    if: (v, test, yes, no) => value(truth(test, v) ? yes : no, v),
    is: (v, e, ...words) => words.includes(text(e, v)), before: (v, a, b) => text(a, v) < text(b, v),
    sum: (v, list, e) => sum(items(v, list).map(x => num(e, x))), first: (v, list, e) => items(v, list).find(x => truth(e, x))?.it,
    of: (v, code, result, ...inputs) => formula(code, flat(Object.fromEntries(inputs.map(([k, e]) => [k, value(e, v)]))))[result],
  };
  const unless = (f, otherwise) => { try { return f(); } catch (e) { if (e instanceof Missing) return otherwise(e); throw e; } };

  const formula = (code, inputs) => {
    const f = find(book.formulas, "formula", code), v = Object.assign(constants(), inputs);
    let lacking;
    const holds = () => (f.holds ?? []).forEach(([e, why]) => unless(() => truth(e, v), () => true) || refuse(why));
    holds();
    for (const [name, e] of f.lets) v[name] = unless(() => value(e, v), gap => { lacking ??= gap; });
    holds();
    if (f.gives.some(n => !given(v[n]) && !(f.optional ?? []).includes(n))) throw lacking ?? new Missing(code);
    return Object.fromEntries(f.gives.map(n => [n, v[n] ?? null]));
  };

  // Findings.
  const gravity = ["pass", "info", "watch", "act", "stop"];
  const show = (x, digits) => {
    const words = typeof x === "number" ? x.toFixed(digits ?? (x !== 0 && Math.abs(x) < 10 ? 2 : 1)) : null;
    if (!words) return given(x) ? { true: "yes", false: "no" }[x] ?? x : "–";
    return (given(digits) ? words : String(Number(words))).replace("-", "−");
  };
  const fill = (words, v) => words.replace(/\{([^:}]*):?(\d*)\}/g, (_, name, n) => show(v[name], n === "" ? undefined : Number(n)));
  const judge = (row, values, makers) => {
    const limit = find(book.limits, "row", row), v = Object.assign(constants(), values);
    for (const need of limit.needs) if (blank(values[need])) lacks(need);
    for (const [name, x] of Object.entries(makers ?? {})) v["maker." + name] = x;
    for (const [name, e] of limit.lets ?? []) try { v[name] = value(e, v); } catch { v[name] = null; }
    const low = v["maker.pass_min"], high = v["maker.pass_max"];
    const band = given(low) && given(high) ? `${show(low)} to ${show(high)}` : given(low) ? `at least ${show(low)}` : `at most ${show(high)}`;
    const other = `${limit.title}: {${limit.value}}, outside the maker's limits for this unit (${band}).`;
    const said = (level, code) => ({ level, code,
      sentence: level === "pass" ? `${limit.title}: ${limit.limit}.` : fill(limit.say[code] ?? other, v) });
    const rule = (limit.rules ?? []).find(r => !given(r.if) || truth(r.if, v)), scale = 10 ** limit.round_half_up;
    if (rule) return said(rule.level, rule.code ?? "OK");
    let x = num(limit.value, v);
    if (given(limit.round_half_up)) v[limit.value] = x = Math.floor(r6(x * scale) + 0.5) / scale;
    x = r6(x);
    if (given(low) || given(high)) return x >= r6(low ?? -Infinity) && x <= r6(high ?? Infinity) ? said("pass", "OK")
      : said(limit.bands.map(b => b.level).sort((a, b) => gravity.indexOf(a) - gravity.indexOf(b)).at(-1), `${row}_MAKER`);
    const met = limit.bands.find(b => !given(b.to) || x < r6(b.to) || (b.closed && x === r6(b.to))) ?? refuse(`${limit.value} meets no band`);
    return said(met.level, met.code ?? "OK");
  };
  const trend = q => {
    const good = x => q.limit.kind === "min" ? r6(x) >= r6(q.limit.value) : r6(x) <= r6(q.limit.value);
    const [a, b, c] = [3, 2, 1].map(n => r6(q.series.at(-n)?.value)), n = q.series.length, last = q.series[n - 1];
    const base = last && q.series.slice(0, -1).reverse().find(p => days(p.on, last.on) >= 300);
    const pace = base && (last.value - base.value) / days(base.on, last.on);
    const projected = base && q.next_due ? last.value + pace * days(last.on, q.next_due) : null;
    const fired = [
      ["i", n > 1 && good(b) && !good(c)],
      ["ii", n > 2 && ((a < b && b < c) || (a > b && b > c)) && a !== 0 && r6(Math.abs(c - a) / Math.abs(a)) > 0.15],
      ["iii", n > 1 && !q.work_recorded_since_last && b !== 0 && r6(Math.abs(c - b) / Math.abs(b)) > 0.2],
      ["iv", given(projected) && good(c) && !good(projected)],
    ].filter(rule => rule[1]).map(rule => rule[0]);
    return { fired, projected, level: fired.length ? "watch" : "pass", do_at_this_visit: fired.includes("iv") };
  };
  const setOf = kind => book.sets.find(s => s.kinds.includes(kind)) ?? refuse(`no readings are asked of ${kind}`);
  const visit = q => ({ findings: setOf(q.unit_kind).readings.filter(r => q.first_service || !r.first_service).flatMap(r => {
    const taken = q.readings.find(x => x.reading === r.code), gap = (level, code) => [{ level, code, reading: r.code, on: "visit" }];
    if (!taken) return gap("watch", "MISSING");
    return given(taken.calibrated_until) && taken.calibrated_until < q.visit_on
      ? gap(book.calibration_stops.includes(r.code) ? "act" : "watch", "CALIBRATION_OUT") : [];
  }) });

  // What the readings of a sheet say: every limit of the kind that can be judged, and what that shows of the parts.
  const atVisit = (kind, known, makers = {}) => {
    const v = Object.assign(constants(), known), findings = [], seen = [], not_seen = [];
    const ends = { ...v, power_kw: v.ua_power_kw, ua_commissioned: v["plate.ua_kw_per_k"] };
    try { v["derived.ua_ratio"] = formula("F4", ends).ratio; } catch { /* without its ends and power nothing is said of the exchanger */ }
    for (const rule of setOf(kind).judge.filter(rule => rule.given.every(name => !blank(v[name])))) {
      const with_ = Object.entries(rule.with ?? {}).map(([name, e]) => { try { return [name, value(e, v)]; } catch { return [name, null]; } });
      const values = Object.assign({}, v, Object.fromEntries(with_));
      try { findings.push({ reading: rule.reading, row: rule.row, ...judge(rule.row, values, makers[rule.row]) }); } catch { /* judges nothing */ }
    }
    for (const f of findings) v[`finding.${f.row}`] = f.code;
    const sure = e => { try { return truth(e, v); } catch { return false; } };
    for (const link of book.suspects.find(t => t.kind === kind)?.from_readings ?? [])
      if (sure(link.seen)) seen.push(link.observation); else if (sure(link.not_seen)) not_seen.push(link.observation);
    return { findings, seen, not_seen };
  };

  // Suspected parts.
  const clamp = (x, low, high) => Math.min(Math.max(x, low), high), shares = scores => scores.map(s => s / sum(scores));
  const entropy = chances => -sum(chances.filter(p => p > 0).map(p => p * Math.log2(p)));
  const best = list => { const top = Math.max(...list.map(x => x[1])); return list.find(x => x[1] >= top - 1e-9); };
  const rank = q => {
    const set = book.ranking, table = find(book.suspects, "kind", q.unit_kind), l = q.learned, seen = q.seen ?? [], absent = q.not_seen ?? [];
    if ([...seen, ...absent].map(code => find(table.observations, "code", code)) && seen.some(code => absent.includes(code))) refuse("seen and not seen");
    const rates = table.parts.map(part => (q.history ?? []).reduce((p, h) => h.part === part.code && given(h.rate_factor) ? p * h.rate_factor : p, part.prior));
    const bySign = (part, sign) => part.seen[sign] ?? (set.proofs.includes(sign) ? set.proof : set.background);
    const likelihood = (part, sign) => {
      const own = l?.observation_counts?.find(o => o.part === part.code && o.observation === sign);
      return clamp(own ? (own.seen + set.likelihood_weight * bySign(part, sign)) / (own.looked_for + set.likelihood_weight)
        : bySign(part, sign), set.lowest, set.highest);
    };
    const flags = [], scale = sum(table.parts.map(p => p.prior)) / sum(rates), posterior = shares(table.parts.map((part, i) => {
      const { code } = part, prior = rates[i] * scale, past = (q.history ?? []).filter(h => h.part === code);
      let p = l ? ((l.part_counts?.[code] ?? 0) + set.prior_weight * prior) / (l.closed_jobs + set.prior_weight) : prior;
      const replaced = past.map(h => h.replaced_on).filter(given).sort().at(-1);
      const within = n => given(replaced) && given(q.today) && replaced > months(q.today, -n);
      if (within(set.warranty_months)) flags.push(`WARRANTY_OR_POOR_REPAIR:${code}`);
      if (within(set.recent_months)) p *= set.recent_factor;
      else for (const h of past) if (given(h.age_years) && given(h.life_years) && given(h.beta))
        p *= clamp((h.age_years / h.life_years) ** (h.beta - 1), set.age_least, set.age_most);
      if (q.hardness_mg_l > set.hard_above_mg_l && !q.reducer_fitted && part.scales) p *= set.hard_factor;
      return seen.reduce((x, s) => x * likelihood(part, s), absent.reduce((x, s) => x * (1 - likelihood(part, s)), p));
    }));
    const order = [];
    for (let left = [...posterior.entries()]; order.length < 3 && left.length; left = left.filter(x => x[0] !== order.at(-1))) order.push(best(left)[0]);
    const now = entropy(posterior), open = table.observations.filter(o => !o.complaint && !seen.includes(o.code) && !absent.includes(o.code));
    const test = best(open.map(o => {
      const yes = table.parts.map((part, i) => posterior[i] * likelihood(part, o.code)), no = posterior.map((p, i) => p - yes[i]);
      return [o.code, now - sum([yes, no].map(way => sum(way) > 0 ? sum(way) * entropy(shares(way)) : 0))];
    }));
    const [p1, p2] = order.map(i => posterior[i]), count = p1 > set.take_above ? 1 : p1 + (p2 ?? 0) > set.take_above ? 2 : 0;
    return { posterior: Object.fromEntries(table.parts.map((part, i) => [part.code, posterior[i]])), top3: order.map(i => table.parts[i].code),
      entropy_bits: now, best_test: test?.[0] ?? null, best_test_bits: test?.[1] ?? 0, flags: flags.sort(),
      take: order.slice(0, count).filter(i => !table.parts[i].not_in_van).map(i => table.parts[i].code) };
  };
  // Closing a sheet: what cannot be judged is unproved, and unproved counts as not done.
  const completion = sheet => {
    const items = sheet.gas_check?.items ?? [], v = flat({ ...sheet, gas_work: sheet.gas_work ?? false });
    if (sheet.gas_check) Object.assign(v, { "gas_check.items_listed": items.length, "gas_check.items_without_result": items.filter(i => blank(i.result)).length });
    const stand = book.blocks.filter(b => { try { return truth(b.when, v); } catch { return true; } }), free = stand.filter(b => b.overridable);
    const soft_blocks = book.soft_blocks.map(b => b.key).filter(key => key in (sheet.soft ?? {}) && blank(sheet.soft[key]));
    const o = sheet.override, all = free.length === stand.length, over = all && o && !blank(o.supervisor) && !blank(o.reason) && !blank(o.at);
    const complete_allowed = !soft_blocks.length && (!stand.length || Boolean(over)), u = sheet.unsafe;
    const ends = ["complete", "made_safe_return", "awaiting_part", "no_access", "isolated"].filter(end => complete_allowed || end !== "complete");
    const [allowed_outcomes, must_do] = !stand.some(b => b.block === 1) ? [ends, []] : u.isolated === true ? [["isolated"], []]
      : u.permission_refused !== true ? [[], ["ISOLATE_LABEL_AND_NOTICE"]]
      : u.class === "ID" ? [[], ["GAS_EMERGENCY_SERVICE"]] : [["user_declined"], ["RECORD_DECLINED_AND_FOLLOW_UP"]];
    return { hard_blocks: stand.map(b => b.block), soft_blocks, complete_allowed, allowed_outcomes, must_do,
      overridable_blocks: free.map(b => b.block), who_may_override: !stand.length ? null : all ? "supervisor" : "nobody" };
  };

  const feasible = q => ({ results: Object.fromEntries(q.options.map(option => {
    const rows = book.feasibility.filter(row => row.options.includes(option) && truth(row.when, flat(q.site)));
    const verdict = rows.some(row => row.verdict === "ruled_out") ? "ruled_out" : rows.length ? "fits_after_works" : "fits";
    return [option, { verdict, reasons: rows.map(row => row.reason) }];
  })) });
  return { book, formula: (code, inputs) => formula(code, flat(inputs)), judge: (row, values, makers) => judge(row, flat(values), makers), trend,
    num, visit, rank, completion, feasible, atVisit, setOf, flat, given, blank, sum, clamp, refuse, day, days, months };
};
if (typeof module !== "undefined") module.exports = { rulesOf };

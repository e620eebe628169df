// Days and clocks by the server's rules: when a duty is next due, when a clock ends, whether calls point to one cause, what a record lacks. The pages of
// a sheet ask it when a check falls due again and how far a clock runs; the rest is a second opinion for the reference runner.
"use strict";
const daysOf = rules => {
  const { book, given, blank, sum, clamp, refuse, day, days, months } = rules;
  const plus = (date, n) => day(Date.parse(date) + n * 864e5), year = date => Number(date.slice(0, 4));
  const later = (a, b) => a > b ? a : b, earlier = (a, b) => a < b ? a : b, over = (from, to) => Math.max(0, days(from, to));
  const winter = date => { const m = Number(date.slice(5, 7)); return m < 5 || m > 10; };

  // Months are counted to the same day, never later than the month's end. Duties: W1 keeps the date, W2 runs from completion, W3 is a round of the calendar, W4 follows an event, W6 is a review.
  const w1 = (deadline, done, complete = true) => {
    const window_first = deadline ? plus(months(deadline, -2), 1) : null, about = { window_first, window_last: deadline ?? null };
    if (!complete) return { ...about, result: "not_a_check", treated_as: null, next_deadline: deadline ?? null, days_late: 0, reason: "W1_NOT_A_CHECK" };
    const [result, reason, treated_as, days_late] = !deadline ? ["first", "W1_FIRST", done, 0] : done < window_first ? ["reset_early", "W1_EARLY", done, 0]
      : done <= deadline ? ["kept", "W1_KEPT", deadline, 0] : ["late", "W1_LATE", done, days(deadline, done)];
    return { ...about, result, treated_as, next_deadline: months(treated_as, 12), days_late, reason };
  };
  const w1Chain = q => {
    let deadline = q.first_deadline;
    const each = q.checks.map(done => { const kept = w1(deadline, done); deadline = kept.next_deadline; return { done, ...kept }; });
    return { results: each.map(c => c.result), deadlines: each.map(c => c.next_deadline), breaches: each.filter(c => c.result === "late").length,
      final_deadline: deadline, longest_days_check_to_deadline: Math.max(0, ...each.map(c => days(c.done, c.next_deadline))),
      longest_days_between_checks: Math.max(0, ...q.checks.slice(1).map((c, i) => days(q.checks[i], c))) };
  };
  const g3 = q => {
    const own_deadline = months(q.installed_on, 12), latest_aligned = earlier(months(own_deadline, 2), months(q.installed_on, 14)), flat = q.flat_deadline;
    const reason = !flat || flat <= own_deadline ? "G3_NOT_NEEDED" : q.already_used ? "G3_ALREADY_USED" : flat <= latest_aligned ? "G3_ALIGNED" : "G3_TOO_FAR";
    const aligned = reason === "G3_ALIGNED", first_check_by = aligned ? flat : own_deadline, after = q.done ? w1(first_check_by, q.done) : {};
    return { own_deadline, latest_aligned, first_check_by, aligned, reason, result: after.result ?? null, next_deadline: after.next_deadline ?? null };
  };
  const w2 = q => {
    const days_late = q.deadline ? over(q.deadline, q.done) : 0, n = Math.min(q.interval_months, q.shorter_interval_months ?? Infinity);
    return { result: !q.deadline ? "first" : days_late ? "late" : "done", days_late, next_deadline: months(q.done, n), reason: days_late ? "W2_LATE" : "W2_FROM_COMPLETION" };
  };
  const w3 = q => {
    if (!(q.every >= 1)) refuse("a round needs an interval of at least 1");
    const nominal = j => q.unit === "months" ? months(q.anchor, q.every * j) : plus(q.anchor, q.every * j * (q.unit === "weeks" ? 7 : 1));
    const slack = j => Math.min(Math.floor(days(nominal(j), nominal(j + 1)) / 4), q.unit === "months" ? 14 : Infinity), first = j => plus(nominal(j), -slack(j));
    let j = q.open_round;
    const early = q.done < first(j);
    while (!early && first(j + 1) <= q.done) j += 1;
    const latest = plus(nominal(j), slack(j)), missed = j - q.open_round, result = early ? "early_open" : missed || q.done > latest ? "late" : "on_time";
    return { round: j, nominal: nominal(j), tolerance_days: slack(j), earliest: first(j), latest, missed, result,
      next_nominal: nominal(early ? j : j + 1), reason: `W3_${result.toUpperCase()}` };
  };
  const w4 = q => {
    const rule = book.events.find(e => e.event === q.event) ?? refuse(`there is no event ${q.event}`), own = rule.counting === "W4_DAYS_STARTING_WITH" && q.report_period_days;
    return { due: plus(q.on, own ? Math.min(rule.days, own - 1) : rule.days), reason: rule.counting };
  };
  const v1 = q => {
    const weeks = (a, b) => [plus(q.fitted_on, a * 7), plus(q.fitted_on, b * 7)], [one, two] = [q.change_1_k, q.change_2_k];
    const known = given(one) && given(two), sizes = [one, two].map(x => Number(Math.abs(x).toFixed(6)));
    const sooner = known && (Math.max(...sizes) > 2 || Math.min(...sizes) > 1);
    return { first: weeks(6, 8), second: weeks(12, 15), third: !known ? null : sooner ? weeks(18, 21) : weeks(24, 28),
      reason: !known ? "V1_WAIT_RESULTS" : sooner ? "V1_SOONER" : "V1_STANDARD" };
  };
  const w6 = q => {
    const gap = months(q.last_review, q.longest_gap_months), trigger = q.triggers.filter(t => t > q.last_review).sort()[0];
    return given(trigger) && trigger <= gap ? { due: trigger, reason: "W6_TRIGGER" } : { due: gap, reason: "W6_GAP" };
  };
  const ruleAsAt = q => {
    const known = q.versions.filter(v => v.recorded_on <= q.known_on && v.effective_from <= q.on), at = v => v.effective_from + v.recorded_on;
    const found = known.sort((a, b) => at(a) < at(b) ? -1 : 1).at(-1);
    return { version: found?.id ?? null, value: found?.value ?? null, reason: found ? "RULE_FOUND" : "NO_RULE_IN_FORCE" };
  };
  const keep = q => {
    const said = (keep_until, reason) => ({ keep_until: keep_until ?? null, reason });
    if (q.kind === "water_log") return said(months(q.made_on, 60), "KEEP_5Y");
    if (q.kind === "gas_record") return q.removed_on ? said(months(q.last_check_on, 24), "KEEP_2Y_AFTER_LAST_CHECK_OF_REMOVED_UNIT")
      : said((q.later_checks ?? []).filter(c => c > q.last_check_on).sort()[1], "KEEP_UNTIL_TWO_FURTHER_CHECKS");
    return q.superseded_on ? said(months(q.superseded_on, 24), "KEEP_2Y_AFTER_CURRENT") : said(null, "KEEP_WHILE_CURRENT");
  };

  // Clocks: real hours in Europe/London's wall time; working days of England.
  const lastSunday = (y, month) => { const end = new Date(Date.UTC(y, month, 0)); return end.getTime() - end.getUTCDay() * 864e5; };
  const summer = ms => { const y = new Date(ms).getUTCFullYear(); return ms >= lastSunday(y, 3) + 36e5 && ms < lastSunday(y, 10) + 36e5; };
  const instant = wall => { const ms = Date.parse(wall + "Z"); return summer(ms - 36e5) ? ms - 36e5 : ms; };
  const minute = ms => new Date(ms).toISOString().slice(0, 16), wall = ms => minute(summer(ms) ? ms + 36e5 : ms);
  const hoursOn = (start, n) => wall(instant(start) + n * 36e5), hours = q => {
    const start = instant(q.start_local), length = Math.round(q.hours * 60) * 6e4, stops = ["resident_asked_later", "supplier_network_off"];
    const pauses = (q.pauses ?? []).filter(p => q.basis === "contract" && stops.includes(p.reason)).map(p => [Math.max(instant(p.from), start), instant(p.to)])
      .filter(p => p[0] < p[1]).sort((a, b) => a[0] - b[0]);
    let paused = 0, reached = start;
    for (const [from, to] of pauses) {
      if (Math.max(from, reached) >= start + length + paused) break;
      paused += Math.max(0, to - Math.max(from, reached));
      reached = Math.max(reached, to);
    }
    const deadline = start + length + paused, at = q.finished_local ?? q.now_local, ends = q.finished_local ? ["met", "finished_late"] : ["running", "late"];
    return { deadline_local: wall(deadline), deadline_utc: `${minute(deadline)}Z`, paused_minutes: paused / 6e4,
      ...(at ? { state: ends[instant(at) <= deadline ? 0 : 1], minutes_to_deadline: (deadline - instant(at)) / 6e4 } : {}) };
  };
  const weekday = date => new Date(date).getUTCDay(), of = (y, m, d) => day(Date.UTC(y, m - 1, d));
  const monday = (y, m) => { const first = of(y, m, 1); return plus(first, (8 - weekday(first)) % 7); }, lastMonday = (y, m) => plus(monday(y, m + 1), -7);
  const easter = y => { // the Gregorian computus in its anonymous form
    const a = y % 19, b = Math.floor(y / 100), c = y % 100, d = Math.floor(b / 4), g = Math.floor((b - Math.floor((b + 8) / 25) + 1) / 3);
    const h = (19 * a + b - d - g + 15) % 30, l = (32 + 2 * (b % 4) + 2 * Math.floor(c / 4) - h - c % 4) % 7, n = h + l - 7 * Math.floor((a + 11 * h + 22 * l) / 451) + 114;
    return of(y, Math.floor(n / 31), n % 31 + 1);
  };
  const proclaimed = ["1981-07-29", "1999-12-31", "2002-06-03", "2011-04-29", "2012-06-05", "2022-06-03", "2022-09-19", "2023-05-08"];
  const moved = { early: { 1995: "05-08", 2020: "05-08" }, spring: { 2002: "06-04", 2012: "06-04", 2022: "06-02" } };
  const bankHolidays = y => [plus(of(y, 1, 1), { 6: 2, 0: 1 }[weekday(of(y, 1, 1))] ?? 0), plus(easter(y), -2), plus(easter(y), 1),
    moved.early[y] ? `${y}-${moved.early[y]}` : monday(y, 5), moved.spring[y] ? `${y}-${moved.spring[y]}` : lastMonday(y, 5), lastMonday(y, 8),
    ...({ 5: [0, 3], 6: [2, 3], 0: [1, 2] }[weekday(of(y, 12, 25))] ?? [0, 1]).map(n => plus(of(y, 12, 25), n)),
    ...proclaimed.filter(d => year(d) === y)].filter(d => weekday(d) % 6).sort();
  const working = date => weekday(date) % 6 !== 0 && !bankHolidays(year(date)).includes(date), workingDays = (start, n) => { let at = start; for (let left = n; left > 0;) { at = plus(at, 1); if (working(at)) left -= 1; } return at; };
  const repair = q => {
    if (q.country !== book.country) return { working_days: null, due: null, reason: "NO_RULE_SET" };
    const { period } = book.right_to_repair.find(r => r.defect === q.defect) ?? refuse(`there is no defect ${q.defect}`), cold = winter(q.reported_on);
    const n = period.days ?? (cold ? period.winter : period.summer);
    return { working_days: n, due: workingDays(q.reported_on, n), reason: period.days ? "R2R_FIXED" : cold ? "R2R_WINTER" : "R2R_SUMMER" };
  };
  const awaab = q => {
    const since = q.aware_local.slice(0, 10), none = { make_safe_by: null, investigate_by: null, summary_by: null, safety_work_by: null,
      further_work_begin_by: null, further_work_start_latest: null }, no = reason => ({ applies: false, ...none, reason });
    if (since < "2025-10-27") return no("AWAAB_NOT_IN_FORCE");
    const by = hoursOn(q.aware_local, 24);
    if (q.kind === "emergency") return { ...none, applies: true, make_safe_by: by, investigate_by: by, reason: "AWAAB_EMERGENCY" };
    if (q.hazard !== "damp_and_mould") return no("AWAAB_HAZARD_NOT_YET");
    const investigate_by = workingDays(since, 10), ended = q.investigation_ended_on ?? investigate_by, five = workingDays(ended, 5);
    return { ...none, applies: true, investigate_by, summary_by: workingDays(ended, 3), safety_work_by: five, further_work_begin_by: five,
      further_work_start_latest: plus(ended, 84), reason: "AWAAB_SIGNIFICANT" };
  };
  const response = q => {
    const start = q.reported_local, on = start.slice(0, 10), rule = book.response.find(r => r.report === q.report) ?? refuse(`there is no report ${q.report}`);
    const t = (winter(on) ? rule.winter : rule.summer) ?? rule.all ?? {};
    const reach = s => !s ? null : given(s.hours) ? hoursOn(start, s.hours) : given(s.working_days) ? workingDays(on, s.working_days) : plus(on, s.days);
    const law = q.council_secure_tenant && rule.defect ? repair({ country: q.country, defect: rule.defect, reported_on: on }).due : null;
    const capped = by => law && by && by.slice(0, 10) > law ? law : by, finish = reach(t.finish_by);
    return { attend_target: capped(reach(t.attend_target)), attend_by: capped(reach((q.vulnerable && t.attend_by_vulnerable) || t.attend_by)),
      finish_target: capped(reach(t.finish_target)), finish_by: capped(finish), say: rule.say ?? null, right_to_repair_cap: capped(finish) !== finish };
  };
  const section20 = q => {
    const notice = n => {
      const served = n?.received_on ?? (n?.posted_on ? workingDays(n.posted_on, n.post_working_days) : null), ends = served && plus(served, 29);
      return { served, ends, next: ends && plus(ends, 1), short: ends && n.stated_end ? over(n.stated_end, ends) : 0 };
    };
    const a = notice(q.intention), b = notice(q.estimates), early = (on, end) => given(on) && given(end) && on <= end;
    const flags = [["INTENTION_SHORT", a.short], ["ESTIMATES_TOO_EARLY", early(b.served, a.ends)], ["ESTIMATES_SHORT", b.short],
      ["CONTRACT_TOO_EARLY", early(q.contract_on, b.ends)]].filter(f => f[1]).map(f => f[0]);
    return { intention_served: a.served, intention_ends: a.ends, estimates_earliest: a.next, intention_short_by_days: a.short, estimates_served: b.served,
      estimates_ends: b.ends, contract_earliest: b.next, estimates_short_by_days: b.short,
      reasons_by: q.contract_on && !q.lowest_or_nominated ? plus(q.contract_on, 21) : null, flags };
  };
  const threshold = q => { // exact, in whole numbers: a penny decides and rounding never does
    const top = BigInt(q.cost_ex_vat_pence) * BigInt(10000 + Math.round(q.vat_percent * 100)), limit = BigInt(q.threshold_pence);
    const shares = q.shares.map(s => s.map(BigInt)), half = (n, d) => Number((2n * n + d) / (2n * d)), over = ([n, d]) => top * n > limit * 10000n * d;
    const [n, d] = shares.reduce((a, b) => b[0] * a[1] >= a[0] * b[1] ? b : a);
    return { total_pence: half(top, 10000n), largest_contribution_pence: half(top * n, 10000n * d), consult: over([n, d]),
      highest_total_without_consulting_pence: n > 0n ? Number(limit * d / n) : null, flats_over: shares.filter(over).length };
  };
  const section20b = q => {
    const last_day_demand = months(q.incurred_on, 18), last_day_notice = plus(last_day_demand, -1), last = q.kind === "demand" ? last_day_demand : last_day_notice;
    return { last_day_notice, last_day_demand, work_to: last_day_notice, sweep_on: months(q.incurred_on, 15),
      in_time: q.served_on ? q.served_on <= last : null, days_over: q.served_on ? over(last, q.served_on) : 0 };
  };

  // One flat or many, from the calls of a stretch of hours; a proposal, all rates are settings.
  const many = q => {
    const years = q.window_hours / 8760, off = x => clamp(x, 1e-300, 1 - 1e-15), none = rate => off(-Math.expm1(-rate * years));
    const p0 = none(q.calls_per_flat_year * q.season_factor), told = -Math.expm1(-q.window_hours / q.report_time_hours), s = off(q.off_if_shared);
    const groups = q.groups.map(g => {
      const silent = g.flats_served - g.called - g.asked_off - g.asked_ok, logs = q.report_shares.map(share => off(share * told))
        .map(x => g.called * Math.log(x / p0) + silent * (Math.log1p(-x) - Math.log1p(-p0))), top = Math.max(...logs);
      const ratio = top + Math.log(sum(logs.map(t => Math.exp(t - top))) / logs.length) + g.asked_off * Math.log(s / p0)
        + g.asked_ok * (Math.log1p(-s) - Math.log1p(-p0)), prior = none(g.shared_faults_per_year);
      return { id: g.id, log10_likelihood_ratio: ratio / Math.LN10, chance_shared: 1 / (1 + Math.exp(-ratio - Math.log(prior / (1 - prior)))) };
    });
    const nine = i => Math.round(groups[i].chance_shared * 1e9), likely = q.groups.map((_, i) => i)
      .filter(i => q.groups[i].called + q.groups[i].asked_off >= 2)
      .sort((a, b) => nine(b) - nine(a) || q.groups[a].flats_served - q.groups[b].flats_served)[0];
    const shared = given(likely) && groups[likely].chance_shared >= 0.5;
    return { groups, answer: shared ? "shared" : groups.some(g => g.chance_shared >= 0.02) ? "ask_neighbours" : "flat",
      points_to: shared ? groups[likely].id : null };
  };

  // What a record lacks, as paths in the order of the form. Blank text is missing.
  const missing = q => {
    const r = q.record, lacks = (object, names, at = "") => names.filter(n => blank(object?.[n]) || Array.isArray(object[n])).map(n => at + n);
    const each = (list, name, names) => list.flatMap((x, i) => lacks(x, names, `${name}[${i}].`));
    const found = {
      gas_safety_record: () => [...lacks(r, ["check_date", "property_address", "landlord_or_agent_name", "landlord_or_agent_address"]),
        ...(r.items?.length ? each(r.items, "items", ["description", "location", "result"]) : ["items"]),
        ...(Array.isArray(r.defects) ? each(r.defects, "defects", ["text", "action"]) : ["defects"]),
        ...(r.examination_26_9_confirmed === true ? [] : ["examination_26_9_confirmed"]), ...lacks(r, ["engineer_name", "registration_number", "signature"])],
      water_temperature_log: () => r.rows?.length ? r.rows.flatMap((row, i) => {
        const t = row.temp_c, at = { cold_sentinel: ["B4", "cold_c"], store_outflow: ["B1", "outflow_c"], hot_sentinel: ["B3", "hot_c_at_60s"], store_return: ["B2", "return_c"] }[row.place], out = at && given(t) && ["act", "stop"].includes(rules.judge(at[0], { [at[1]]: t }).level);
        return [...lacks(row, ["on", "outlet", "place", "temp_c", "seconds_run", "instrument", "taken_by"], `rows[${i}].`),
          ...(given(t) && out && blank(row.action) ? [`rows[${i}].action`] : [])];
      }) : ["rows"],
      service_sheet: () => [...lacks(r, ["on", "unit_number", "engineer_name"]),
        ...lacks(r.readings, rules.setOf(r.unit_kind).readings.filter(s => r.first_service || !s.first_service).map(s => s.code), "readings."),
        ...lacks(r, ["work_done", "state_after", "resident_told"])],
    }[q.kind]();
    return { missing: found, complete: !found.length };
  };
  return { w1, w1Chain, g3, w2, w3, w4, v1, w6, ruleAsAt, keep, hours, bankHolidays, workingDays, repair, awaab, response, section20, threshold,
    section20b, many, missing };
};
if (typeof module !== "undefined") module.exports = { daysOf };

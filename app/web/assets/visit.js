// A visit on the phone: what its sheet, as typed so far, asks of the rule book and of the days. The server reads the same
// sheet in the same way and judges again when it arrives; the phone only says sooner, without signal, what it will say.
"use strict";
const visitOf = (rules, days, about) => {
  const { book, given } = rules, { kind, job } = about;
  const set = book.sets.find(s => s.kinds.includes(kind)), table = book.suspects.find(t => t.kind === kind);
  const specs = set?.readings ?? [];
  const fieldsOf = set => [...(set?.readings ?? []), ...(set?.tests ?? [])].flatMap(spec => spec.fields);
  const number = text => /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i.test(text) ? Number(text) : NaN;
  const decimal = typed => number(typed.trim().replace(",", ".")), date = text => /^\d{4}-\d\d-\d\d$/.test(text) ? text : null;
  // A field as the server reads it: blank is not given, a comma may stand for the point, nonsense is no value.
  const read = (field, typed) => {
    const text = typed.trim();
    if (!text) return undefined;
    if (field.answer === "yes_no") return { yes: true, no: false }[text];
    if (field.answer === "choice") return field.choices.find(choice => choice[0] === text)?.[0];
    if (field.answer === "date") return date(text) ?? undefined;
    if (field.answer !== "number") return text;
    const x = decimal(text);
    return x >= (field.least ?? -Infinity) && x <= (field.most ?? Infinity) ? x : undefined;
  };

  // Everything the rules say of a sheet: `sheet` holds what was typed by the names of its fields.
  return sheet => {
    const get = key => (sheet[key] ?? "").trim(), has = key => get(key) !== "", yes = key => get(key) === "yes";
    const yesNo = key => ({ yes: true, no: false })[get(key)] ?? null;
    const readings = (prefix, set) => Object.fromEntries(fieldsOf(set).map(field => [field.code, read(field, get(prefix + field.code))]).filter(pair => given(pair[1])));
    // At a replacement by another kind, what is measured after the work is of the unit that came.
    const came = job.kind === "replacement", kindAfter = came && has("new.kind") ? get("new.kind") : kind;
    const setAfter = book.sets.find(s => s.kinds.includes(kindAfter));
    const isAnother = kindAfter !== kind && Object.keys(sheet).some(key => key.startsWith("a.") && has(key));
    const judged = values => {
      if (!set) return { findings: [], seen: [], not_seen: [] };
      const answer = rules.atVisit(kind, { ...about.known, ...values }, about.makers);
      for (const f of answer.findings) {
        const figure = about.maker_words[f.row];
        if (figure && f.level !== "pass") f.sentence += ` By the maker’s figure of ${figure}.`;
      }
      return answer;
    };
    const ofNew = values => {
      if (!setAfter) return { findings: [], seen: [], not_seen: [] };
      const known = Object.fromEntries(Object.entries(about.known).filter(([key]) => key.startsWith("site.")));
      for (const [key, name] of [["new.rated_kw", "rated_kw"], ["new.rated_kw", "heat_kw"], ["new.litres", "litres"]]) {
        if (Number.isFinite(decimal(get(key)))) known[`plate.${name}`] = decimal(get(key));
      }
      if (yesNo("new.reducer") !== null) known["plate.reducer_fitted"] = yesNo("new.reducer");
      return rules.atVisit(kindAfter, { ...known, ...values }, {});
    };
    const before = readings("r.", set), after = readings("a.", setAfter), latest = { ...before, ...after };
    const found = judged(before), left = isAnother ? ofNew(after) : judged(latest), grave = f => f.level === "act" || f.level === "stop";

    // Likely parts: what the caller said, what the readings show, and what was looked for, which wins.
    const ranking = () => {
      const said = new Map(about.told.map(code => [code, true]));
      for (const code of found.seen) said.set(code, true);
      for (const code of found.not_seen) said.set(code, false);
      for (const key of Object.keys(sheet).filter(key => key.startsWith("o."))) {
        if (get(key) === "seen" || get(key) === "not") said.set(key.slice(2), get(key) === "seen");
      }
      const picked = wanted => (table?.observations ?? []).map(o => o.code).filter(code => said.get(code) === wanted);
      const seen = picked(true);
      return about.ranking && seen.length ? rules.rank({ ...about.ranking, seen, not_seen: picked(false) }) : null;
    };

    // The parts of a sheet the completion blocks look at; one that does not concern the job is null.
    const fits = kindOf => book.part_classes.some(c => c.class === kindOf && c.kinds.includes(kind) && c.parts.includes(get("fitted")));
    const gasWork = (came && job.gas_kinds.includes(get("new.kind")))
      || (job.gas && (job.gas_check || job.owes_the_set || came || yes("gas_work") || fits("gas")));
    const papers = [kind, kindAfter].includes("PB") ? job.papers.gas_plant : job.papers.gas;
    const calibrated = reading => job.instruments[get(`i.${reading}`)] ?? date(get(`cal.${reading}`));
    const bool = code => typeof latest[code] === "boolean" ? latest[code] : null, figure = code => latest[code] ?? null;
    const lossless = key => { const x = has(key) ? decimal(get(key)) : NaN; return x >= 0 ? x : null; };
    const unsafe = () => {
      const stated = get("unsafe"), classes = ["ID", "AR"];
      if (classes.includes(stated)) return { class: stated, cleared_by_registered: false, isolated: yes("unsafe_isolated"), permission_refused: yes("unsafe_refused") };
      const open = job.notices.find(n => !(yes(`clear.${n.id}`) && papers?.category_covers_unit));
      return !open || !classes.includes(open.class) ? null : { class: open.class, cleared_by_registered: false,
        isolated: open.isolated || yes("unsafe_isolated"), permission_refused: open.permission_refused };
    };
    const gas = () => {
      const inside = row => { const f = left.findings.find(f => f.row === row); return f ? !grave(f) : null; };
      return { working_pressure_ok: inside("A8"), gas_rate_ok: inside("A10"), co_ppm: figure("co_ppm"), co2_percent: figure("co2_percent"),
        maker_ratio_max: about.makers.A6?.ratio_max ?? null, maker_co_max_ppm: about.makers.A6?.co_max_ppm ?? null,
        analyser_calibrated_until: ["co_ppm", "co2_percent", "combustion_per_boiler"].map(calibrated).find(given) ?? null,
        lawful_alternative: has("gas_alternative") };
    };
    const gasCheck = () => ({ items_expected: Math.max(job.gas_units, 1) * 2, signed: yes("gc_signed"),
      items: [1, 2, 3, 4, 5, 6, 7, 8].filter(n => has(`gc.${n}.name`)).map(n => ({ name: get(`gc.${n}.name`), result: get(`gc.${n}.result`) || null })) });
    const cylinder = () => came
      ? { relief_route_seen: yesNo("route_seen"), hot_discharge: has("new.discharge_cold") ? get("new.discharge_cold") === "no" : null, cutout_proved: yesNo("new.cutout_proved") }
      : { relief_route_seen: yesNo("route_seen"), hot_discharge: given(latest.tundish) ? latest.tundish === "hot" : null, cutout_proved: bool("cutout_proved") };
    const functionLost = () => {
      const said = ["gas_or_co", "noise", "other", "leak"].includes(job.lost), measured = !specs.length || Object.keys(after).length > 0;
      return { function: job.lost, works_after: said ? yesNo("works_after") : yes("works_after") && measured };
    };
    const alarm = () => {
      const works = bool("co_alarm_works") ?? yesNo("new.co_alarm_works"), asked = came || job.owes_the_set || works === false;
      return job.gas_kinds.includes(kindAfter) && job.home && asked
        ? { required: true, landlords_duty: job.landlords_duty, works, job_raised_for: date(get("co_job_date")) } : null;
    };
    const soft = () => {
      const taken = spec => {
        const needed = spec.fields.filter(f => !f.optional), there = f => given(before[f.code]);
        return spec.any ? spec.fields.some(there) : needed.length > 0 && needed.every(there);
      };
      const owed = specs.filter(spec => job.first_service || !spec.first_service);
      const missing = job.owes_the_set ? owed.some(spec => !taken(spec) && !has(`no.${spec.code}`))
        : job.kind === "repair" && specs.length > 0 && !Object.keys(before).length;
      const photo = yes("fire_opened") || came || job.duties.some(d => d.photo && yes(`duty.${d.code}`));
      const rows = book.soft_blocks.find(s => s.key === "water_below_limit")?.rows ?? [];
      const below = !["hot_water", "heating_and_hot_water"].includes(job.lost) && left.findings.some(f => grave(f) && rows.includes(f.row));
      const stand = { before_reading_missing: missing, photo_missing: photo && !job.photographed, old_part_not_identified: has("fitted") && !has("old_part"),
        water_below_limit: below, set_point_changed: yes("set_point"), resident_not_told: !yes("told"), label_not_matching: get("label_matches") === "no" };
      return Object.fromEntries(Object.keys(stand).filter(key => stand[key]).map(key => [key, get(`soft.${key}`) || null]));
    };
    const completion = () => rules.completion({
      on: about.on, unsafe: unsafe(), gas_work: gasWork, engineer: gasWork ? papers : null, gas: gasWork ? gas() : null,
      gas_check: job.gas_check ? gasCheck() : null, cylinder: ["UV", "VC"].includes(kindAfter) ? cylinder() : null,
      tmv: kind !== "TMV" ? null : { outlet: get("outlet") || null, mix_c: figure("mix_c"), cold_shut_max_c: figure("cold_shut_max_c"), shut_off_fails: bool("shut_off_fails") },
      electrical: !yes("elec") && !fits("electrical") ? null : { part_fitted: true, isolated_and_proved_dead: yes("elec_dead"), mohm: lossless("elec_mohm") ?? figure("mohm") },
      water: !yes("wet") && !fits("wet") && job.lost !== "leak" ? null : { leak_present: get("leak") !== "no", bar_lost_in_15_min: lossless("bar_lost") },
      function_lost: job.lost ? functionLost() : null,
      asbestos: { step_answered: has("asbestos"), building_year: job.built_year, register_says_present: job.asbestos_listed },
      fire_stopping: !job.higher_risk ? null : { opened: get("fire_opened") !== "no", made_good: yesNo("fire_good"), photo: job.photographed || yesNo("fire_photo"), higher_risk_building: true },
      co_alarm: alarm(), soft: soft(),
      override: has("override_reason") ? { supervisor: get("override_by"), reason: get("override_reason"), at: about.at } : null,
    });

    // A duty is met when every item was examined; a gas safety check is one only with its list, its papers and its figures.
    const whole = duty => {
      if (!yes(`duty.${duty.code}`) || !duty.gas_check) return yes(`duty.${duty.code}`);
      const blocks = completion().hard_blocks, figures = (given(latest.co_ppm) && given(latest.co2_percent)) || has("gas_alternative");
      return gasWork && !blocks.includes(2) && !blocks.includes(4) && (given(latest.working_mbar) || given(latest.gas_rate_kw)) && figures;
    };
    const due = (duty, met) => {
      const { window_rule, months, anchor, deadline } = duty.dated, done = about.on;
      if (window_rule === "W1") return days.w1(deadline, done, met);
      if (!met) return { result: "not_a_check", next_deadline: deadline };
      if (window_rule === "W2") return days.w2({ deadline, done, interval_months: months });
      if (window_rule === "W6") return { result: "review", next_deadline: days.w6({ last_review: done, longest_gap_months: months, triggers: [] }).due };
      if (window_rule !== "W3") return { result: "done", next_deadline: null };
      if (!deadline) return { result: "round_first", next_deadline: rules.months(done, months) };
      const start = anchor ?? deadline;
      let open_round = 0;
      while (rules.months(start, months * open_round) < deadline) open_round += 1;
      const round = days.w3({ anchor: start, every: months, unit: "months", open_round, done });
      return { ...round, next_deadline: round.next_nominal };
    };
    // The resident's clock, when the visit ends otherwise than done.
    const clock = () => {
      const by = job.clock && days.response({ ...job.clock, vulnerable: false });
      return by?.finish_by ?? by?.attend_by ?? null;
    };
    return { found, ranking, completion, whole, due, clock, before, stops: left.findings.filter(f => f.level === "stop") };
  };
};

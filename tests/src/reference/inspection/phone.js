// Puts every case to the phone's scripts; the page's text becomes the list of answers.
"use strict";
(() => {
  const read = id => JSON.parse(document.getElementById(id).textContent);
  const rules = rulesOf(read("rule-book")), days = daysOf(rules);
  const nested = results => {
    const object = {};
    for (const [name, x] of Object.entries(results)) {
      const [outer, inner] = name.split(".");
      if (inner) (object[outer] ??= {})[inner] = x; else object[outer] = x;
    }
    return object;
  };
  // A whole sheet, as a page of it hands it over, in the words of the page.
  const sheet = ({ about, sheet }) => {
    const now = visitOf(rules, days, about)(sheet), said = saidOf(rules, about), ranked = now.ranking(), closed = now.completion();
    return { ranking: ranked ? said.ranking(ranked) : null, top3: ranked?.top3 ?? null, hard_blocks: closed.hard_blocks,
      soft_blocks: closed.soft_blocks, ...said.completion(closed, now.stops), heading: said.findings(now).heading };
  };
  const due = ({ about, duty, met }) => {
    const answer = visitOf(rules, days, about)({}).due(duty, met);
    return { next_deadline: answer.next_deadline, sentence: saidOf(rules, about).duty(duty, answer) };
  };
  const families = {
    "sheet": sheet, "due": due,
    "formula": i => rules.formula(i.formula, i), "option.sizing": i => nested(rules.formula(`size.${i.kind}`, i)),
    "finding": i => rules.judge(i.row, i.values, i.makers_limits), "finding.trend": rules.trend, "finding.visit": rules.visit,
    "suspect.rank": rules.rank, "suspect.many": days.many, "completion": rules.completion, "option.feasibility": rules.feasible,
    "record.missing": days.missing, "duty.w1": i => days.w1(i.deadline, i.done, i.check_complete), "duty.w1_chain": days.w1Chain,
    "duty.g3": days.g3, "duty.w2": days.w2, "duty.w3": days.w3, "duty.w4": days.w4, "duty.v1": days.v1, "duty.w6": days.w6,
    "duty.rule_as_at": days.ruleAsAt, "duty.keep": days.keep, "clock.hours": days.hours,
    "clock.bank_holidays": i => ({ weekdays: days.bankHolidays(i.year) }),
    "clock.working_days": i => ({ due: days.workingDays(i.start_on, i.working_days) }), "clock.right_to_repair": days.repair,
    "clock.awaab": days.awaab, "clock.response": days.response, "clock.section20": days.section20,
    "clock.section20_threshold": days.threshold, "clock.section20b": days.section20b,
  };
  const answers = read("cases").map(([family, inputs]) => {
    try {
      return families[family] ? { got: families[family](inputs) } : { why: `there is no family '${family}'` };
    } catch (error) {
      return { why: String(error.message) };
    }
  });
  // Nothing in it may look like a tag or an entity once the page is written out.
  const plain = JSON.stringify(answers).replace(/[<>&\u007f-\uffff]/g, c => `\\u${c.charCodeAt(0).toString(16).padStart(4, "0")}`);
  document.body.textContent = `answers:${plain}`;
})();

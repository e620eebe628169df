DROP TABLE estate.idempotency, estate.audit_bodies, estate.audit_entries, estate.briefs, estate.round_visits,
  estate.rounds, estate.budgets, estate.decisions, estate.advices, estate.forecasts, estate.fits, estate.authorities,
  estate.quote_lines, estate.quotes;

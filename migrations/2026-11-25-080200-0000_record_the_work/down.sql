DROP TABLE estate.services, estate.failure_facts, estate.failures, estate.access_attempts, estate.notices,
  estate.findings, estate.observations, estate.readings, estate.sheets, estate.visit_jobs, estate.visits,
  estate.offers, estate.fault_calls, estate.job_duties, estate.job_events, estate.jobs, estate.outage_spaces,
  estate.outages, estate.duty_completions, estate.duties;

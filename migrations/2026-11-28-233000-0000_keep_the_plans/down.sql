DROP TABLE estate.round_asks, estate.plan_jobs, estate.plan_adoptions, estate.plans, estate.plan_tie_units, estate.plan_ties;

DROP TABLE estate.neighbour_answers;
ALTER TABLE estate.outage_spaces DROP COLUMN retest, DROP COLUMN due_at, DROP COLUMN since_at;
ALTER TABLE estate.outages DROP COLUMN proof, DROP COLUMN job_id;

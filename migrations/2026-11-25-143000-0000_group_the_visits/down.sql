COMMENT ON COLUMN estate.round_visits.deadline IS NULL;
DROP INDEX estate.round_visits_visit;
ALTER TABLE estate.round_visits DROP COLUMN pinned, DROP COLUMN visit_id;

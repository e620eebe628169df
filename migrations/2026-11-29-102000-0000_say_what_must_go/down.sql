DELETE FROM estate.plan_tie_units WHERE tie_id IN (SELECT id FROM estate.plan_ties WHERE what = 'by');
DELETE FROM estate.plan_ties WHERE what = 'by';
ALTER TABLE estate.plan_ties DROP CONSTRAINT plan_ties_what_check;
ALTER TABLE estate.plan_ties ADD CONSTRAINT plan_ties_what_check CHECK (what IN ('pin', 'forbid', 'together'));
COMMENT ON TABLE estate.plan_ties IS 'pin: its unit in that year; forbid: not in that year; together: its units in one year, or none of them.';

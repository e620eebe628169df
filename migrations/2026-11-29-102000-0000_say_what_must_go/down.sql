-- Forced row-level security binds the owner too: without this the rows of every estate would stay, and the check fail.
ALTER TABLE estate.plan_ties NO FORCE ROW LEVEL SECURITY;
ALTER TABLE estate.plan_tie_units NO FORCE ROW LEVEL SECURITY;
DELETE FROM estate.plan_tie_units WHERE tie_id IN (SELECT id FROM estate.plan_ties WHERE what = 'by');
DELETE FROM estate.plan_ties WHERE what = 'by';
ALTER TABLE estate.plan_tie_units FORCE ROW LEVEL SECURITY;
ALTER TABLE estate.plan_ties FORCE ROW LEVEL SECURITY;
ALTER TABLE estate.plan_ties DROP CONSTRAINT plan_ties_what_check;
ALTER TABLE estate.plan_ties ADD CONSTRAINT plan_ties_what_check CHECK (what IN ('pin', 'forbid', 'together'));
COMMENT ON TABLE estate.plan_ties IS 'pin: its unit in that year; forbid: not in that year; together: its units in one year, or none of them.';

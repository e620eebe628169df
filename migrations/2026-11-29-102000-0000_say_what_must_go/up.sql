-- A unit that must go by a year: a law, a maker or a surveyor says so, and a person states it with the reason.
ALTER TABLE estate.plan_ties DROP CONSTRAINT plan_ties_what_check;
ALTER TABLE estate.plan_ties ADD CONSTRAINT plan_ties_what_check CHECK (what IN ('pin', 'forbid', 'together', 'by'));
COMMENT ON TABLE estate.plan_ties IS 'pin: its unit in that year; forbid: not in that year; by: in that year at the latest; together: its units in one year, or none of them.';

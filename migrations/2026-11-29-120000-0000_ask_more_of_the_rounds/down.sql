ALTER TABLE estate.offers DROP COLUMN counter_until, DROP COLUMN counter_from;
ALTER TABLE estate.round_visits DROP COLUMN second_engineer_id;
-- Forced row-level security binds the owner too: without this the rows of every estate would stay, and the check fail.
ALTER TABLE estate.round_asks NO FORCE ROW LEVEL SECURITY;
DELETE FROM estate.round_asks WHERE what IN ('hours', 'access');
ALTER TABLE estate.round_asks FORCE ROW LEVEL SECURITY;
COMMENT ON TABLE estate.round_asks IS 'away: the engineer does not work from from_on until until_on; not_before: no visit to the unit before from_on.';
ALTER TABLE estate.round_asks
  DROP COLUMN until_minute, DROP COLUMN from_minute, DROP COLUMN weekdays, DROP COLUMN firm_id, DROP CONSTRAINT round_asks_what_check;
ALTER TABLE estate.round_asks ADD CONSTRAINT round_asks_what_check CHECK (what IN ('away', 'not_before'));

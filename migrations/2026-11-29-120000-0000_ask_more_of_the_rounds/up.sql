-- A firm's own days and hours, and when somebody opens in a flat, stated like every ask: dated, with who and why. The second
-- of two who come together; the day a firm proposes in place of the one offered.
ALTER TABLE estate.round_asks DROP CONSTRAINT round_asks_what_check;
ALTER TABLE estate.round_asks
  ADD CONSTRAINT round_asks_what_check CHECK (what IN ('away', 'not_before', 'hours', 'access')),
  ADD COLUMN firm_id uuid, ADD COLUMN weekdays text, ADD COLUMN from_minute integer, ADD COLUMN until_minute integer;
COMMENT ON TABLE estate.round_asks IS 'away: the engineer does not work from from_on until until_on; not_before: no visit to the unit before from_on; hours: the firm works on these weekdays between these minutes; access: somebody opens at the unit then only.';
COMMENT ON COLUMN estate.round_asks.weekdays IS 'Numbers of weekdays, Monday 0, parted by spaces.';
ALTER TABLE estate.round_visits ADD COLUMN second_engineer_id uuid;
ALTER TABLE estate.offers ADD COLUMN counter_from timestamptz, ADD COLUMN counter_until timestamptz;
COMMENT ON COLUMN estate.offers.counter_from IS 'Declined as offered, but the firm could come from then: what it proposed instead.';

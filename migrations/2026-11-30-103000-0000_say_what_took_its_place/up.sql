-- Which unit took the place of which, said when it was put there: the days of both may be corrected, the pair stays.
-- Units swapped before this migration name no pair: the audit alone says which it was.
CREATE TABLE estate.swaps (
  estate_id uuid NOT NULL, id uuid NOT NULL, unit_id uuid NOT NULL, successor_id uuid NOT NULL CHECK (successor_id <> unit_id),
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id),
  FOREIGN KEY (estate_id, successor_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.swaps (estate_id, unit_id);
CREATE INDEX ON estate.swaps (estate_id, successor_id);
COMMENT ON COLUMN estate.swaps.unit_id IS 'The unit that left.';

DO $$
BEGIN
  ALTER TABLE estate.swaps ENABLE ROW LEVEL SECURITY;
  ALTER TABLE estate.swaps FORCE ROW LEVEL SECURITY;
  CREATE POLICY one_estate ON estate.swaps USING (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid) WITH CHECK (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid);
  CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.swaps FOR EACH ROW EXECUTE FUNCTION estate.supersede_once();
END $$;

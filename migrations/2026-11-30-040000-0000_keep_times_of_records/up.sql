-- The times in which failures were written down, where they are not one stretch from the opening of the register until now.
CREATE TABLE estate.record_windows (
  estate_id uuid NOT NULL, id uuid NOT NULL, building_id uuid NOT NULL, unit_id uuid, from_on date NOT NULL, until_on date,
  words text NOT NULL DEFAULT '', happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), CHECK (until_on IS NULL OR from_on < until_on),
  FOREIGN KEY (estate_id, building_id) REFERENCES estate.buildings (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX record_windows_now ON estate.record_windows (estate_id, building_id) WHERE superseded_at IS NULL;
COMMENT ON TABLE estate.record_windows IS 'Stated times of record-keeping: of a unit, else of its building; where any is stated it stands in place of the day a unit was watched from.';
COMMENT ON COLUMN estate.record_windows.unit_id IS 'The one unit it is stated of; null: all units of the building.';
COMMENT ON COLUMN estate.record_windows.until_on IS 'Last day; null: they are kept still.';

DO $$
BEGIN
  ALTER TABLE estate.record_windows ENABLE ROW LEVEL SECURITY;
  ALTER TABLE estate.record_windows FORCE ROW LEVEL SECURITY;
  CREATE POLICY one_estate ON estate.record_windows USING (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid) WITH CHECK (estate_id = nullif(current_setting('app.estate_id', true), '')::uuid);
  CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.record_windows FOR EACH ROW EXECUTE FUNCTION estate.supersede_once();
END $$;

-- How many of the units of a kind that stand in a space it needs on the coldest day, dated: n needed of N fitted.
CREATE TABLE estate.space_needed (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, kind_code text NOT NULL,
  needed integer NOT NULL CHECK (needed BETWEEN 0 AND 50), happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE UNIQUE INDEX space_needed_now ON estate.space_needed (estate_id, space_id, kind_code) WHERE superseded_at IS NULL;
COMMENT ON COLUMN estate.space_needed.needed IS 'Of the units of this kind that stand in the space. No row: unknown.';
COMMENT ON COLUMN estate.space_needed.happened_on IS 'The day since which so many are needed.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['space_needed'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;

-- What was looked for among groups of units (a building, a batch, a branch, an installer), once a week, and what was found.
CREATE TABLE estate.looks (
  estate_id uuid NOT NULL, id uuid NOT NULL, week_on date NOT NULL, made_at timestamptz NOT NULL, digest text NOT NULL, body jsonb NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, week_on));
COMMENT ON COLUMN estate.looks.week_on IS 'Monday of its week: one look a week, so that the false alarms of a year can be stated.';
COMMENT ON COLUMN estate.looks.digest IS 'SHA-256 of what was looked at; the shuffling is seeded by it and by nothing else.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['looks'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
END $$;

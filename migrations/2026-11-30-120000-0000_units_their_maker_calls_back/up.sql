-- What a maker calls back or asks to have put right, as its notice says it: of which kind, and of these which by family, serial
-- number and day of fitting. What was done about one unit stands beside it.
CREATE TABLE estate.recalls (
  estate_id uuid NOT NULL, id uuid NOT NULL, kind text NOT NULL, family text NOT NULL DEFAULT '',
  serial_from text NOT NULL DEFAULT '', serial_until text NOT NULL DEFAULT '', fitted_from date, fitted_until date,
  title text NOT NULL CHECK (length(title) > 0), about text NOT NULL DEFAULT '', do_not_use boolean NOT NULL,
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), CHECK (fitted_from <= fitted_until));
COMMENT ON COLUMN estate.recalls.happened_on IS 'The day of the notice.';

CREATE TABLE estate.recall_answers (
  estate_id uuid NOT NULL, id uuid NOT NULL, recall_id uuid NOT NULL, unit_id uuid NOT NULL,
  how text NOT NULL CHECK (how IN ('done', 'not_meant')),
  happened_on date NOT NULL, recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, recall_id) REFERENCES estate.recalls (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.recall_answers (estate_id, unit_id);
CREATE UNIQUE INDEX ON estate.recall_answers (estate_id, recall_id, unit_id) WHERE superseded_at IS NULL;

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['recalls', 'recall_answers'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
    EXECUTE format('CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.%I FOR EACH ROW EXECUTE FUNCTION estate.supersede_once()', t);
  END LOOP;
END $$;

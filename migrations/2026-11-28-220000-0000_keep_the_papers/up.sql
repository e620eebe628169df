-- Papers that leave the house: records as the engineer issued them, letters as they were sent.
ALTER TABLE estate.access_attempts ADD COLUMN recorded_at timestamptz;
COMMENT ON COLUMN estate.access_attempts.recorded_at IS 'When it was written down; empty for rows older than the column, which count as written down when they happened.';
CREATE TABLE estate.issued_records (
  estate_id uuid NOT NULL, id uuid NOT NULL, number text NOT NULL,
  kind text NOT NULL CHECK (kind IN ('gas_safety_record', 'service_sheet')),
  job_id uuid NOT NULL, visit_id uuid NOT NULL, unit_id uuid NOT NULL,
  body jsonb NOT NULL, digest text NOT NULL, rule_book text NOT NULL, signature text NOT NULL, engineer_id uuid,
  issued_at timestamptz NOT NULL, issued_by uuid NOT NULL,
  PRIMARY KEY (estate_id, id), UNIQUE (estate_id, number), UNIQUE (estate_id, job_id, kind),
  FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, visit_id) REFERENCES estate.visits (estate_id, id),
  FOREIGN KEY (estate_id, unit_id) REFERENCES estate.units (estate_id, id));
CREATE INDEX ON estate.issued_records (estate_id, unit_id);
COMMENT ON TABLE estate.issued_records IS 'What was known when the engineer signed; never changed.';
COMMENT ON COLUMN estate.issued_records.digest IS 'SHA-256 of the body as text, in hexadecimal.';
CREATE TABLE estate.letters (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, space_id uuid NOT NULL,
  kind text NOT NULL CHECK (kind IN ('access_1', 'access_2', 'access_3', 'planned_visit', 'repair')),
  how text NOT NULL CHECK (how IN ('post', 'recorded_post', 'by_hand', 'mail')),
  reference text NOT NULL DEFAULT '', body jsonb NOT NULL, sent_at timestamptz NOT NULL, happened_on date NOT NULL,
  recorded_at timestamptz NOT NULL, recorded_by uuid NOT NULL, superseded_at timestamptz,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id),
  FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.letters (estate_id, job_id);
COMMENT ON COLUMN estate.letters.body IS 'What was filled in; the resident''s name is never kept here.';

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['issued_records', 'letters'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
END $$;
CREATE TRIGGER supersede_once BEFORE UPDATE ON estate.letters FOR EACH ROW EXECUTE FUNCTION estate.supersede_once();

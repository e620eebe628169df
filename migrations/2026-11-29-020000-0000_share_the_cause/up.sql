-- An outage: the one job that answers it, each home's own clock while it lasts, how its end was proved; and what
-- neighbours said when they were asked.
ALTER TABLE estate.outages ADD COLUMN job_id uuid, ADD COLUMN proof text NOT NULL DEFAULT '',
  ADD FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id);
COMMENT ON COLUMN estate.outages.proof IS 'How the end was proved: empty when every home was re-tested, else how the sample was chosen.';
ALTER TABLE estate.outage_spaces ADD COLUMN since_at timestamptz, ADD COLUMN due_at timestamptz,
  ADD COLUMN retest text NOT NULL DEFAULT '';
COMMENT ON COLUMN estate.outage_spaces.due_at IS 'The clock of this home''s own call; it runs until the outage ends.';

CREATE TABLE estate.neighbour_answers (
  estate_id uuid NOT NULL, id uuid NOT NULL, space_id uuid NOT NULL, function_lost text NOT NULL, is_off boolean NOT NULL,
  asked_at timestamptz NOT NULL, asked_by uuid NOT NULL,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, space_id) REFERENCES estate.spaces (estate_id, id));
CREATE INDEX ON estate.neighbour_answers (estate_id, asked_at);

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['neighbour_answers'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
END $$;

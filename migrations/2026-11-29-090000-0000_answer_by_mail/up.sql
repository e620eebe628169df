-- A link in a mail answers for one firm about one job, without an account, once. The page finds the estate by it, so it stands at the door.
CREATE TABLE door.reply_links (
  id uuid PRIMARY KEY, secret_hash bytea NOT NULL UNIQUE, estate uuid NOT NULL REFERENCES door.estates (id),
  firm uuid NOT NULL REFERENCES door.firms (id), job uuid NOT NULL, mailed_to text NOT NULL,
  made_at timestamptz NOT NULL, until_at timestamptz NOT NULL, used_at timestamptz, ended_at timestamptz);
CREATE INDEX reply_links_job ON door.reply_links (estate, job);
COMMENT ON COLUMN door.reply_links.secret_hash IS 'SHA-256 of the secret; the secret itself stands in the mail only.';
COMMENT ON COLUMN door.reply_links.ended_at IS 'A later mail about the same job to the same firm took its place.';
-- A visit typed in keeps where the desk has it from.
ALTER TABLE estate.visits DROP CONSTRAINT visits_source_check;
ALTER TABLE estate.visits ADD CONSTRAINT visits_source_check CHECK (source IN ('phone', 'paper', 'photo', 'mail', 'telephone', 'import'));
-- A job that puts an unsafe unit right has that as its source.
ALTER TABLE estate.jobs DROP CONSTRAINT jobs_source_check;
ALTER TABLE estate.jobs ADD CONSTRAINT jobs_source_check CHECK (source IN ('call', 'duty', 'agent', 'advice', 'import', 'unsafe'));
-- What somebody has to be told because a visit did not go as planned; it waits on Today until it was said.
CREATE TABLE estate.tellings (
  estate_id uuid NOT NULL, id uuid NOT NULL, job_id uuid NOT NULL, whom text NOT NULL CHECK (whom IN ('resident', 'office')), words text NOT NULL,
  queued_at timestamptz NOT NULL, queued_by uuid NOT NULL, told_at timestamptz, told_by uuid,
  PRIMARY KEY (estate_id, id), FOREIGN KEY (estate_id, job_id) REFERENCES estate.jobs (estate_id, id));
CREATE INDEX tellings_open ON estate.tellings (estate_id, queued_at) WHERE told_at IS NULL;

DO $$
DECLARE t text;
BEGIN
  FOREACH t IN ARRAY ARRAY['tellings'] LOOP
    EXECUTE format('ALTER TABLE estate.%I ENABLE ROW LEVEL SECURITY', t);
    EXECUTE format('ALTER TABLE estate.%I FORCE ROW LEVEL SECURITY', t);
    EXECUTE format('CREATE POLICY one_estate ON estate.%I USING (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid) WITH CHECK (estate_id = nullif(current_setting(''app.estate_id'', true), '''')::uuid)', t);
  END LOOP;
END $$;

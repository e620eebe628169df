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
